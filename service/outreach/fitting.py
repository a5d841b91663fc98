"""A text that fits: what matters most is said first to be kept, and shortened before it is lost."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from service.phrases import Phrase
from service.text.languages import LANGUAGES
from service.text.render import TWO_PARTS, Budget

Translate = Callable[[Phrase, str], str]
"""Says a phrase in a language."""


def spoken(language: str | None, default: str) -> str:
    """Return the language of a phone; the default where it chose none or one no longer spoken."""
    return language if language is not None and language in LANGUAGES else default


@dataclass(frozen=True, slots=True)
class Piece:
    """Something to be said in a text.

    `forms` are ways to say it, the whole first and shorter ones after. `rank` 0 is said whatever
    happens, in its shortest form if need be; of the others the lower rank is kept.
    """

    rank: int
    forms: tuple[tuple[Phrase, ...], ...]


def piece(rank: int, *phrases: Phrase) -> Piece:
    """Return a piece with one form."""
    return Piece(rank, (phrases,))


def fitted(pieces: Sequence[Piece], say_it: Callable[[Phrase], str], budget: Budget) -> str:
    """Return as many pieces as fit, in their order, the first ranks first."""
    chosen: dict[int, str] = {}
    for place in sorted(range(len(pieces)), key=lambda place: pieces[place].rank):
        for form in pieces[place].forms:
            said = " ".join(said for phrase in form if (said := say_it(phrase)))
            if _fits({**chosen, place: said}, budget):
                chosen[place] = said
                break
            if pieces[place].rank == 0:
                chosen[place] = said
        if not _fits(chosen, budget) and pieces[place].rank > 0:
            chosen.pop(place, None)
    return _joined(chosen)


def _joined(chosen: dict[int, str]) -> str:
    return " ".join(chosen[place] for place in sorted(chosen) if chosen[place])


def _fits(chosen: dict[int, str], budget: Budget) -> bool:
    return budget.fits(_joined(chosen))


def text_of(
    pieces: Sequence[Piece], translate: Translate, language: str, budget: Budget = TWO_PARTS
) -> str:
    """Return the text of pieces in a language, within two parts unless a budget says otherwise."""
    return fitted(pieces, lambda phrase: translate(phrase, language), budget)
