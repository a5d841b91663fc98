"""Where a text that is too long may be cut: after a sentence, at a word's end, between letters.

Between letters is the last resort, and never before a mark that belongs to the letter in front
of it (vowel signs, accents, joiners), unless nothing else fits.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence

_SENTENCE_END = re.compile(r"[.!?।॥።؟]['\")\]]*\s+")
# A space between digits and three more digits is inside a number: "1 250 000".
_WORD_END = re.compile(r"(?<!\d)\s+|(?<=\d)\s+(?!\d{3}(?!\d))|(?<=[፡])(?=\S)")
_VIRAMA_CLASS = 9
_JOINERS = "\u200c\u200d"


def sentence_ends(text: str) -> list[int]:
    """Places just after a sentence and the space behind it."""
    return [match.end() for match in _SENTENCE_END.finditer(text) if match.end() < len(text)]


def word_ends(text: str) -> list[int]:
    """Places just after a word and the space behind it."""
    return [match.end() for match in _WORD_END.finditer(text) if 0 < match.end() < len(text)]


def letter_ends(text: str) -> list[int]:
    """Places between letters that are written apart."""
    return [place for place in range(1, len(text)) if not _joined(text[place - 1], text[place])]


def _joined(before: str, after: str) -> bool:
    return (
        unicodedata.category(after).startswith("M")
        or after in _JOINERS
        or before in _JOINERS
        or unicodedata.combining(before) == _VIRAMA_CLASS
    )


def longest_fitting(
    text: str, places: Sequence[int], fits: Callable[[str], bool], start: int = 0
) -> int:
    """Return the last place beyond `start` whose text in front of it fits, or 0.

    Longer beginnings never fit better, so the search halves its way.
    """
    low, high = 0, len(places)
    while low < high:
        middle = (low + high) // 2
        if fits(text[: places[middle]].rstrip()):
            low = middle + 1
        else:
            high = middle
    found = places[low - 1] if low else 0
    return found if found > start else 0


def gentlest_cut(text: str, fits: Callable[[str], bool], start: int = 0) -> int:
    """Return where to cut a text so that its beginning fits, or 0 when no place will do.

    The end of a sentence is taken when it leaves no more than half of the page empty.
    """
    word = longest_fitting(text, word_ends(text), fits, start)
    sentence = longest_fitting(text, sentence_ends(text), fits, start)
    if sentence and sentence * 2 >= word:
        return sentence
    return (
        word
        or longest_fitting(text, letter_ends(text), fits, start)
        or longest_fitting(text, range(1, len(text)), fits, start)
    )
