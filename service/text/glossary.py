"""One word for one thing: a glossary of a language, and where its catalogue says it otherwise.

A glossary is a page of Markdown with two kinds of tables: `| English | word used | note |`, and,
for sentences in which another word is right, `| term | sentence | why |`. In the second column
";" or "," stands between words that may each be used, "in the shop:" and the like before one of
them, and other forms of a word in brackets.

Words are compared by their beginnings only, so that "cuves" is "cuve" and "टंकियाँ" is "टंकी". That
finds a sentence that says another word or none; it cannot find the right word in a wrong sentence.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from babel.messages.catalog import Catalog

from service.errors import LineProblem
from service.text import checks
from service.text.placeholders import without_placeholders

CORE_TERMS: tuple[str, ...] = (
    "drip line", "main pipe", "dripper", "tap", "take-off", "valve", "tank", "stand", "filter",
    "block", "plot", "crop", "bucket", "drum", "pace", "builder", "helpline", "field officer",
    "clinic", "flush", "fertiliser", "acid", "chlorine", "bleach", "goggles", "slime", "strap",
    "plug", "elbow", "adaptor", "joiner", "end cap", "bore",
)  # fmt: skip
"""Terms whose word is looked for; other rows of a glossary are for translators' eyes only."""
_SENSES: Mapping[str, str] = {
    # The thing, not what one does with it: water may stand, silt may block, a finger may tap.
    "stand": r"(?<!water )stands?\b(?! (?:a|on|out|well|now)\b)",
    "block": r"(?<!will )blocks?\b(?! (?:drippers|the drippers|them)\b)",
    "tap": r"taps?\b(?! (?:it|the)\b)",
    "plug": r"(?<!switch, )plugs?\b(?! (?:it|or)\b)",
    "flush": r"flush(?:ed|es|ing)?",
    "bore": r"(?<!-)bores?",
}

NOT_BY_IT = "not by the glossary"

_COMMAS = re.compile(r"[;,؛،፣]")
_BRACKETS = re.compile(r"\(([^()]*)\)")
_LABEL = re.compile(r"^[^:]*:\s*")
_ETHIOPIC = re.compile("[\u1200-\u135a]")
_ROW = re.compile(r"^\|(.+)\|\s*$")


class Otherwise(NamedTuple):
    """A sentence in which a term is said otherwise, and why that is right."""

    term: str
    sentence: str
    why: str


class Glossary(NamedTuple):
    """Words of each English term, and the sentences in which another one stands."""

    words: Mapping[str, tuple[str, ...]]
    exceptions: tuple[Otherwise, ...]

    def excuses(self, term: str, sentence: str) -> bool:
        """Tell whether a sentence may say a term otherwise; a row may give its beginning only."""
        return any(
            each.term == term and sentence.startswith(each.sentence) for each in self.exceptions
        )


def read_glossary(text: str) -> Glossary:
    """Return the glossary of a page."""
    words: dict[str, tuple[str, ...]] = {}
    exceptions = []
    kind = ""
    for line in text.splitlines():
        row = _ROW.match(line)
        cells = [cell.strip() for cell in row[1].split("|")] if row else []
        if len(cells) != 3 or set(cells[0]) <= set("-: "):
            continue
        if cells[0].casefold() in ("english", "english term", "term"):
            kind = cells[0].casefold()
        elif kind == "term":
            exceptions.append(Otherwise(*cells))
        elif "menu" not in cells[0]:
            for term, used in _row(cells[0], cells[1]):
                words[term] = (*words.get(term, ()), *used)
    return Glossary(words, tuple(exceptions))


def _row(english: str, used: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    terms = [part.strip().casefold() for part in _COMMAS.split(_BRACKETS.sub("", english))]
    parts = [part.strip() for part in _COMMAS.split(used)]
    # "bucket, drum | balde, tambor": each its own; else every word serves every term.
    apart = len(terms) > 1 and len(terms) == len(parts)
    for place, term in enumerate(terms):
        yield term, tuple(word for part in (parts[place : place + 1] if apart else parts)
                          for word in _alternatives(part))  # fmt: skip


def _alternatives(part: str) -> Iterator[str]:
    part = _LABEL.sub("", part)
    yield from filter(None, (_BRACKETS.sub("", part).strip(' "'), *_BRACKETS.findall(part)))


def glossary_problems(glossary: Glossary, catalogue: Catalog, file: str) -> list[LineProblem]:
    """Return where an English sentence has a core term and its translation none of its words."""
    problems = []
    for lapse in _lapses(glossary, catalogue):
        if not glossary.excuses(lapse.term, lapse.english):
            words = " / ".join(glossary.words.get(lapse.term, ())) or "no word in the glossary"
            text = f"{NOT_BY_IT}: {lapse.term} = {words}: {lapse.english!r}: {lapse.said!r}"
            problems.append(LineProblem(file, lapse.line, text))
    return problems


def idle_exceptions(glossary: Glossary, catalogue: Catalog) -> list[Otherwise]:
    """Return exceptions that nothing needs any more: old sentences, or words since mended."""
    needed = [(lapse.term, lapse.english) for lapse in _lapses(glossary, catalogue)]
    return [
        each
        for each in glossary.exceptions
        if not any(term == each.term and text.startswith(each.sentence) for term, text in needed)
    ]


class _Lapse(NamedTuple):
    """A translation without the word of a term, excused or not."""

    term: str
    english: str
    said: str
    line: int


def _lapses(glossary: Glossary, catalogue: Catalog) -> Iterator[_Lapse]:
    for message in catalogue:
        pairs = checks.sentences(message) if message.id else ()
        forms = (message.id,) if isinstance(message.id, str) else message.id
        for english, said in pairs:
            for term in terms_in(english):
                # Which form of another language belongs to which of English is its own affair, so
                # that a term of the plural alone is asked of none.
                shared = all(term in terms_in(form) for form in forms)
                if shared and not said_with(said, glossary.words.get(term, ())):
                    yield _Lapse(term, english, said, message.lineno or 1)


def terms_in(english: str) -> Iterator[str]:
    """Yield the core terms of an English sentence."""
    small = without_placeholders(english, " ").casefold()
    for term in CORE_TERMS:
        if re.search(rf"\b(?:{_SENSES.get(term, f'{term}s?')})\b", small):
            yield term


def said_with(said: str, used: tuple[str, ...]) -> bool:
    """Tell whether a translation has all words of one of the alternatives, in any form."""
    tokens = _tokens(said)
    return any(all(_stands(word, tokens) for word in _tokens(each)) for each in used)


def _tokens(text: str) -> list[str]:
    plain = unicodedata.normalize("NFC", without_placeholders(text, " ")).casefold()
    letters = (
        letter if letter.isalpha() or unicodedata.category(letter).startswith("M") else " "
        for letter in plain
    )
    return _ETHIOPIC.sub(_consonant, "".join(letters)).split()


def _consonant(match: re.Match[str]) -> str:
    """Return the first form of an Ethiopic syllable: its forms differ by the vowel."""
    return chr(ord(match[0]) & ~7)


def _stands(word: str, tokens: list[str]) -> bool:
    """Tell whether a word stands there with its ending changed, or inside a longer word."""
    stem = _stem(word)
    # Swahili and Indonesian verbs, Arabic and Amharic nouns take on letters in front.
    inside = len(stem) >= 4 or "\u0600" <= stem[0] <= "\u06ff" or "\u1200" <= stem[0] <= "\u137f"
    return any(stem in token if inside else token.startswith(stem) for token in tokens)


def _stem(word: str) -> str:
    """Return a word without the letters that its forms change, as far as length tells."""
    if word.startswith("ال"):
        return word[2:]
    if "\u1200" <= word[0] <= "\u137f":
        # Only the consonants are left to compare; in front may stand "of".
        return word[1:] if word[0] == "የ" and len(word) >= 4 else word
    return word[: len(word) - (2 if len(word) >= 6 else 1 if len(word) >= 4 else 0)]
