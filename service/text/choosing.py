"""Which of several things a caller means: by name, misspelt or not, or by its first letters.

A choice is made only when nothing else is nearly as near; between two that are, nobody guesses.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from typing import NamedTuple

from rapidfuzz.distance import OSA

_LONGEST_SENTENCE = 160
_MOST_WORDS = 16
"""Characters and words of text in which a name is looked for; a longer story is no choice."""
_FIRST_LETTERS = 3
_CLEARLY_NEARER = 2
"""Slips by which the runner-up must be worse than a misspelt name."""


class _Match(NamedTuple):
    """How near a name of one option came: slips, and the words of the text it stands for."""

    slips: int
    option: int
    start: int
    end: int


def choose(text: str, names: Sequence[Sequence[str]]) -> int | None:
    """Return the place of the option that a cleaned text names, or None.

    `names[i]` are the cleaned names of option i; text and names are words with one space between.
    """
    if not text or len(text) > _LONGEST_SENTENCE:
        return None
    exact = {place for place, own in enumerate(names) if text in own}
    if exact:
        return _only(exact)
    words = text.split()
    best = _without_inner(_best_matches(words, names)) if len(words) <= _MOST_WORDS else []
    if not best:
        return _only(
            {
                place
                for place, own in enumerate(names)
                if len(text) >= _FIRST_LETTERS and any(name.startswith(text) for name in own)
            }
        )
    first, *others = sorted(best)
    margin = 1 if first.slips == 0 else _CLEARLY_NEARER
    nearest = [match for match in others if match.slips < first.slips + margin]
    return None if nearest else first.option


def _only(places: set[int]) -> int | None:
    return places.pop() if len(places) == 1 else None


def slips_allowed(name: str) -> int:
    """How many letters of a name may be wrong, missing, added or swapped."""
    letters = len(name)
    if letters <= 3:
        return 0
    if letters <= 5:
        return 1
    return 2 if letters <= 8 else 3


def _best_matches(words: Sequence[str], names: Sequence[Sequence[str]]) -> list[_Match]:
    best = []
    for place, own in enumerate(names):
        matches = [match for name in own for match in _matches(words, name, place)]
        if matches:
            best.append(min(matches, key=lambda match: (match.slips, match.start - match.end)))
    return best


def _matches(words: Sequence[str], name: str, option: int) -> Iterator[_Match]:
    allowed = slips_allowed(name)
    digits, length = _digits(name), name.count(" ") + 1
    # A name of two words may be sent as one, and the other way round.
    for width, start in product(range(max(1, length - 1), length + 2), range(len(words))):
        if start + width > len(words):
            continue
        said = " ".join(words[start : start + width])
        if _digits(said) != digits:
            # "26 mm" is no misspelt "25 mm".
            continue
        slips = OSA.distance(said, name, score_cutoff=allowed)
        # "sweet" is no misspelt "wheat": the first letter of a short name must be right.
        if slips <= allowed and (slips == 0 or allowed > 1 or said[0] == name[0]):
            yield _Match(slips, option, start, start + width)


def _digits(text: str) -> str:
    return "".join(filter(str.isdigit, text))


def _without_inner(matches: Sequence[_Match]) -> list[_Match]:
    """Drop "potato" where the text says "sweet potato" and both can be chosen."""
    return [
        inner
        for inner in matches
        if not any(
            outer.start <= inner.start
            and inner.end <= outer.end
            and outer.end - outer.start > inner.end - inner.start
            for outer in matches
        )
    ]
