"""The helpline in words, and the words by which a caller's text tells of danger."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping

from service.phrases import Phrase, say

RED_FLAGS = ("splashed", "swallowed", "gas", "stand_leans", "injury")
"""Values of `ticket_matter` that are danger: whoever sends one is rung first, asked for or not."""
BODY = ("hand*", "face", "arm*", "leg*", "finger*", "foot", "feet", "mouth", "child*", "him", "her")
STAND = ("stand", "tank", "tower", "drum")
RED_WORDS: Mapping[str, tuple[str, ...]] = {
    "splashed": (
        "eye", "eyes", "skin", "splash*", *(f"burn*&{part}" for part in BODY),
        "jicho", "macho", "ngozi", "ameungua", "nimeungua",
        "oeil", "yeux", "peau", "brul*&main*", "brul*&visage",
        "आंख*", "आँख*", "त्वचा",
    ),
    "swallowed": (
        "drank", "drunk", "swallow*", "poison*",
        "amekunywa", "alikunywa", "sumu",
        "avale*", "empoison*",
        "निगल*", "ज़हर", "जहर",
    ),
    "gas": (
        "gas", "fumes", "breathe", "breath", "breathing", "choking", "fainted", "fainting",
        "gesi", "kupumua", "hewa mbaya",
        "gaz", "respir*", "etouff*",
        "गैस", "सांस", "साँस", "दम घुट*",
    ),
    "stand_leans": (
        *(f"{sign}&{what}" for sign in ("lean*", "tilt*", "sink*", "collaps*") for what in STAND),
        "imeinama", "inainama", "inaegemea", "imeegemea",
        "support&penche*", "reservoir&penche*", "effondr*",
        "झुक*",
    ),
    "injury": (
        "hurt", "injur*", "blood", "bleed*", "accident", "unconscious", "electric shock",
        "ameumia", "nimeumia", "kuumia", "amejeruhiwa", "damu", "ajali",
        "blesse", "blessee", "blessure", "sang", "saigne*", "electrocut*",
        "चोट", "खून", "ख़ून", "घायल", "करंट", "बेहोश",
    ),
}  # fmt: skip
"""Words, and beginnings (*) of words, in a free text that ask for words at once.

Where & stands between two of them both must be there. English, Swahili, French and Hindi; the last
three are an unreviewed first draft. A word too many costs one screen; a word too few costs nothing
worse, for danger is asked for before any free text.
"""

_ACCENTS = re.compile("[\u0300-\u036f]")


def plain(text: str) -> str:
    """A text in small letters without Latin accents, as the words above are compared."""
    parts = _ACCENTS.sub("", unicodedata.normalize("NFKD", text.casefold().replace("œ", "oe")))
    return unicodedata.normalize("NFC", parts)


def _pattern(entry: str) -> tuple[re.Pattern[str], ...]:
    """Return the patterns that must all be found for one entry of the words above."""
    return tuple(
        re.compile(rf"(?<!\w){re.escape(plain(word).rstrip('*'))}" + _end(word))
        for word in entry.split("&")
    )


def _end(word: str) -> str:
    return "" if word.endswith("*") else r"(?!\w)"


_PATTERNS = {flag: tuple(map(_pattern, entries)) for flag, entries in RED_WORDS.items()}


def red_flag(text: str) -> str:
    """Return the danger that a text tells of, the most urgent first; empty when none."""
    said = plain(text)
    for flag, entries in _PATTERNS.items():
        if any(all(part.search(said) for part in parts) for parts in entries):
            return flag
    return ""


def ring_us(helpline: str) -> Phrase:
    """The number to ring, where there is one."""
    if helpline:
        return say("Or ring the helpline: {number}.", number=helpline)
    return say("Or ask your field officer.")


def noted(danger: bool, helpline: str) -> tuple[Phrase, ...]:
    """What happens next."""
    if danger:
        return (
            # Translators: caution: help from a clinic does not wait for our call.
            say("Noted: we ring you back at once. Do not wait for us: get medical help first."),
            ring_us(helpline),
        )
    return (say("Noted. A person rings you back on this number."), ring_us(helpline))


def noted_stand(helpline: str) -> tuple[Phrase, ...]:
    """The same about a stand, where nobody is hurt."""
    return (
        # Translators: caution.
        say("Noted: we ring you back at once. Keep everybody away from the stand."),
        ring_us(helpline),
    )


def follow_up(matter: str) -> tuple[Phrase, ...]:
    """The question some days after a person rang back; also the text of a reminder.

    `matter` is what the caller sent; empty when it is no longer known.
    """
    if matter:
        # Translators: {matter} is in the caller's own words.
        return (say("Some days ago you asked us: {matter}. Did it work?", matter=matter),)
    return (say("Some days ago you asked us for help. Did it work?"),)
