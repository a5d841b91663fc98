"""The words of a seasonal message: what may stand in them, and what stands there for one farmer."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from service.phrases import Phrase, say
from service.text.fold import fold
from service.text.languages import LANGUAGES
from service.text.measure import Encoding, measure
from service.text.placeholders import PLACEHOLDER, placeholders, without_placeholders
from service.text.septets import GSM7

Values = Mapping[str, str]

LONGEST: Mapping[str, str] = {
    "name": "N" * 18,
    "crop": "c" * 14,
    "stage": "s" * 12,
    "minutes": "240",
    "fills": "10.5",
    "litres": "2400",
    "district": "D" * 14,
    "date": "25 Nov",
}
"""What may stand in a text, with a long value of each, by which its length is told beforehand."""
WATER = frozenset({"minutes", "fills", "litres"})
OF_PLOT = WATER | {"crop", "stage"}
"""Places for what only a plot with its crop can fill."""
MOST_PARTS = 3
"""A text that needs more messages is refused (our choice): it is dear, and nobody reads it."""
Grade = Literal["error", "note"]


@dataclass(frozen=True, slots=True)
class Finding:
    """Something about a text: an error must be mended, a note is worth knowing."""

    grade: Grade
    words: Phrase


@dataclass(frozen=True, slots=True)
class TextCheck:
    """What one language's text costs with long values, and what there is to say about it."""

    language: str
    encoding: Encoding
    units: int
    parts: int
    findings: tuple[Finding, ...]

    @property
    def errors(self) -> tuple[Phrase, ...]:
        """What must be mended."""
        return tuple(each.words for each in self.findings if each.grade == "error")


def check_texts(texts: Mapping[str, str], default: str) -> tuple[TextCheck, ...]:
    """Return what there is to say about each text; the one of the default language comes first.

    A text that everybody without one of their own gets must be there.
    """
    others = sorted(language for language in texts if language != default)
    wanted = placeholders(texts.get(default, ""))
    return tuple(_check(each, texts.get(each, ""), wanted) for each in (default, *others))


def sound(texts: Mapping[str, str], default: str) -> bool:
    """Whether nothing about the texts must be mended."""
    return not any(each.errors for each in check_texts(texts, default))


def _check(language: str, text: str, wanted: frozenset[str]) -> TextCheck:
    text = fold(text)
    size = measure(filled(text, LONGEST))
    findings = [*_errors(language, text, size.parts), *_notes(language, text, size.parts, wanted)]
    return TextCheck(language, size.encoding, size.units, size.parts, tuple(findings))


def _errors(language: str, text: str, parts: int) -> list[Finding]:
    found = []
    if language not in LANGUAGES:
        found.append(say("The language {code} is not spoken here.", code=language))
    if not text.strip():
        found.append(say("The text is empty."))
    for name in sorted(placeholders(text) - LONGEST.keys()):
        known = ", ".join(LONGEST)
        # Translators: {name} is a word in braces that an officer wrote into a message.
        found.append(
            say("Nothing is known to put for '{name}'. Known: {known}.", name=name, known=known)
        )
    if re.search(r"[{}]", without_placeholders(text)):
        found.append(say("A brace stands alone. Write a place as in the list, in small letters."))
    if parts > MOST_PARTS:
        found.append(say("Too long: {n} messages, at most {most}.", n=parts, most=MOST_PARTS))
    return [Finding("error", words) for words in found]


def _notes(language: str, text: str, parts: int, wanted: frozenset[str]) -> list[Finding]:
    found = []
    spoken = LANGUAGES.get(language)
    letters = " ".join(sorted(set(text) - GSM7))
    if letters and spoken is not None and spoken.gsm7:
        # Translators: a letter outside the phone network's small alphabet shortens every message.
        found.append(
            say("These letters cut a message from 160 letters to 70: {letters}", letters=letters)
        )
    if 1 < parts <= MOST_PARTS:
        found.append(say("Sent as {n} messages each.", n=parts))
    for name in sorted(wanted - placeholders(text)):
        found.append(say("The main text tells '{name}', this one does not.", name=name))
    return [Finding("note", words) for words in found]


def filled(text: str, values: Values) -> str:
    """Return a text with its places filled; one without a value stays as it stands."""
    return PLACEHOLDER.sub(lambda match: values.get(match[1], match[0]), text)


def text_for(texts: Mapping[str, str], language: str, default: str) -> tuple[str, str]:
    """Return the language in which somebody is written to, and the text in it."""
    chosen = language if texts.get(language) else default
    return chosen, fold(texts.get(chosen, ""))
