"""A typed answer taken apart: numbers, units, and the small words between them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Literal, NamedTuple, TypeAlias, cast

from rapidfuzz import process
from rapidfuzz.distance import OSA

from service.text.lexicon import LEXICONS, Lexicon, words_of
from service.text.typed import cleaned

Kind: TypeAlias = Literal[
    "number", "unit", "hourly", "joining", "between", "filling", "word", "mark", "odd"
]


class Token(NamedTuple):
    """A piece of an answer; for a unit, `text` is the unit's own name."""

    kind: Kind
    text: str


_NOT_IN_WORDS = r"""\s\d.,;:!?()\[\]{}"'<>/\\|=+*&#@%_^-"""
_PIECE = re.compile(
    rf"(?P<number>(?:(?<![^\s(,;:=])[-+])?[.,]?\d[\d.,]*)"
    rf"|(?P<word>%|[^{_NOT_IN_WORDS}](?:[^{_NOT_IN_WORDS}]|\d)*)"
    rf"|(?P<mark>[^\s])"
)
# "20x30" and "20m x30m": a sign for "by" that touches a number.
_TIMES = re.compile(r"(?:(?<=[\d\s])|(?<=\d[^\W\d_])|(?<=\d[^\W\d_]{2}))[x×*]\s*(?=\d)")
_FUZZY_FROM = 5
_LONGEST_PHRASE = 4


def tokens_of(text: str, language: str) -> list[Token]:
    """Return the pieces of a cleaned text, words of the caller's language understood first."""
    pieces = list(_pieces(_TIMES.sub(" × ", text)))
    meanings = _meanings(language)
    found: list[Token] = []
    place = 0
    while place < len(pieces):
        token, width = _next_token(pieces, place, meanings)
        found.append(token)
        place += width
    return found


def _pieces(text: str) -> Iterator[Token]:
    for match in _PIECE.finditer(text):
        # The pattern's groups are named like the kinds.
        yield Token(cast("Kind", match.lastgroup), match[0])


def _next_token(
    pieces: Sequence[Token], place: int, meanings: Mapping[tuple[str, ...], Token]
) -> tuple[Token, int]:
    first = pieces[place]
    if first.kind != "word":
        return first, 1
    phrase, ends = _words_ahead(pieces, place)
    for count in range(len(phrase), 0, -1):
        meaning = meanings.get(tuple(phrase[:count]))
        if meaning is not None:
            return meaning, ends[count - 1] - place
    if re.search(r"\d", first.text):
        # "O7", "1e5", "plot3": letters and digits in one, so nobody can tell.
        return Token("odd", first.text), 1
    return _nearly_a_unit(first), 1


def _words_ahead(pieces: Sequence[Token], place: int) -> tuple[list[str], list[int]]:
    """Words from here on, across "/", "-" and "'" ("L/h", "jerry-can"), and where each ends."""
    phrase: list[str] = []
    ends: list[int] = []
    while place < len(pieces) and len(phrase) < _LONGEST_PHRASE:
        piece = pieces[place]
        place += 1
        if piece.kind == "word":
            phrase.append(piece.text)
            ends.append(place)
        elif piece.kind != "mark" or piece.text not in "/-'.":
            break
    return phrase, ends


def _nearly_a_unit(word: Token) -> Token:
    """Forgive one slip in a unit of five letters or more, when only one unit is that near."""
    if len(word.text) < _FUZZY_FROM:
        return word
    near = process.extract(
        word.text, _long_units().keys(), scorer=OSA.distance, score_cutoff=1, limit=None
    )
    units = {_long_units()[name] for name, _, _ in near}
    return Token("unit", units.pop()) if len(units) == 1 else word


@cache
def _long_units() -> Mapping[str, str]:
    return {
        phrase[0]: token.text
        for phrase, token in _meanings("").items()
        if token.kind == "unit" and len(phrase) == 1 and len(phrase[0]) >= _FUZZY_FROM
    }


@cache
def _meanings(language: str) -> Mapping[tuple[str, ...], Token]:
    """Every known word or group of words; the caller's own language has the last say."""
    own = [LEXICONS[language]] if language in LEXICONS else []
    others = [lexicon for code, lexicon in LEXICONS.items() if code != language]
    found: dict[tuple[str, ...], Token] = {}
    for lexicon in (*others, *own):
        found.update(_meanings_of(lexicon))
    return found


def _meanings_of(lexicon: Lexicon) -> dict[tuple[str, ...], Token]:
    small: tuple[tuple[Kind, str], ...] = (
        ("filling", lexicon.filling),
        ("between", lexicon.between),
        ("joining", lexicon.joining),
        ("hourly", lexicon.hourly),
    )
    found = {
        phrase_of(words): Token(kind, words) for kind, line in small for words in words_of(line)
    }
    # Units last: a word that is both is a unit.
    for unit, line in lexicon.units.items():
        found.update({phrase_of(words): Token("unit", unit) for words in words_of(line)})
    return found


def phrase_of(words: str) -> tuple[str, ...]:
    """Return a group of words as it comes out of a cleaned text."""
    return tuple(cleaned(words).split())
