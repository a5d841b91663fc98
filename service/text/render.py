"""Screens and texts: phrases become words, and words become pages that fit.

A page is cut at line ends first, then after a sentence, at a word's end, and between letters only
when one word fills a page. Every page but the last ends with the line that offers more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial

from service.phrases import Phrase, Screen, say
from service.text.breaks import gentlest_cut, longest_fitting, sentence_ends
from service.text.catalogues import Catalogues
from service.text.fold import fold
from service.text.measure import measure


@dataclass(frozen=True, slots=True)
class Budget:
    """Most septets or UCS-2 units of one page, and most parts when it leaves as a text."""

    septets: int = 160
    units: int = 70
    parts: int = 1

    @property
    def longest(self) -> int:
        """Most characters that a page can have in any alphabet."""
        return max(self.septets, self.units)

    def fits(self, text: str) -> bool:
        """Tell whether a text stays within the budget."""
        if len(text) > self.longest:
            return False
        size = measure(text)
        room = self.septets if size.encoding == "gsm7" else self.units
        return size.units <= room and size.parts <= self.parts


USSD_PAGE = Budget()
"""One screen that survives in any position of a dialogue and on any operator's overhead."""
TWO_PARTS = Budget(306, 134, parts=2)
"""A text message of at most two parts."""

_LOOK_AHEAD = 8
"""Characters past a page's end that decide whether a space there may be cut at."""


@dataclass(frozen=True, slots=True)
class _Line:
    """One line of a screen; the first `whole` characters are never cut (a choice's key)."""

    text: str
    whole: int = 0


def render(
    screen: Screen,
    language: str,
    catalogues: Catalogues,
    *,
    budget: Budget = USSD_PAGE,
    more_key: str = "#",
) -> tuple[str, ...]:
    """Return the pages of a screen, at least one, each within the budget.

    Raises ValueError when the budget cannot hold the line that offers more and a few letters.
    """
    # Translators: the last line of a page that has a next one. budget: 20 septets or 15 units
    more = catalogues.translate(say("{key} More", key=more_key), language)
    return paged(_lines(screen, language, catalogues), more, budget)


def one_text(screen: Screen, language: str, catalogues: Catalogues) -> str:
    """Return the whole screen as one text, its lines one under the other, for a message."""
    return "\n".join(line.text for line in _lines(screen, language, catalogues))


def joined(phrases: Iterable[Phrase], language: str, catalogues: Catalogues) -> str:
    """Return sentences in a row, a space between, for a short message."""
    said = (catalogues.translate(phrase, language) for phrase in phrases)
    return " ".join(sentence for sentence in said if sentence)


def _lines(screen: Screen, language: str, catalogues: Catalogues) -> list[_Line]:
    said = [catalogues.translate(phrase, language) for phrase in screen.lines]
    lines = [_Line(line.strip()) for sentence in said for line in sentence.split("\n")]
    for choice in screen.choices:
        label = " ".join(catalogues.translate(choice.label, language).split())
        key = fold(choice.key) + " "
        lines.append(_Line(key + label, whole=len(key)))
    return lines


def paged(lines: list[_Line], more: str, budget: Budget) -> tuple[str, ...]:
    """Return lines as pages; all but the last end with the line `more`."""
    rest = [line for line in lines if line.text]
    pages = []
    while not budget.fits(_page(rest)):
        page, rest = _first_page(rest, partial(_fits_above, more, budget), budget.longest)
        pages.append(f"{page}\n{more}")
    return (*pages, _page(rest))


def _page(lines: list[_Line]) -> str:
    return "\n".join(line.text for line in lines)


def _fits_above(more: str, budget: Budget, text: str) -> bool:
    return budget.fits(f"{text}\n{more}")


def _first_page(
    lines: list[_Line], fits: Callable[[str], bool], longest: int
) -> tuple[str, list[_Line]]:
    """Return the text of a page and the lines left over."""
    taken = 0
    while taken < len(lines) and fits(_page(lines[: taken + 1])):
        taken += 1
    page, rest = _page(lines[:taken]), lines[taken:]
    if not taken:
        return _cut(rest, fits, longest)
    if not fits(rest[0].text) and not rest[0].whole:
        # A line that needs more than a page anyway may begin on this one, whole sentences only.
        window = rest[0].text[: longest + _LOOK_AHEAD]
        place = longest_fitting(window, sentence_ends(window), lambda text: fits(f"{page}\n{text}"))
        if place:
            head, rest = _divided(rest, place)
            page = f"{page}\n{head}"
    return page, rest


def _cut(lines: list[_Line], fits: Callable[[str], bool], longest: int) -> tuple[str, list[_Line]]:
    """Return as much of the first line as fits a page, and what is left."""
    line = lines[0]
    window = line.text[: longest + _LOOK_AHEAD]
    for whole in (line.whole, 0):
        if place := gentlest_cut(window, fits, whole):
            return _divided(lines, place)
    raise ValueError("the budget of a page cannot hold one letter and the line for more")


def _divided(lines: list[_Line], place: int) -> tuple[str, list[_Line]]:
    text = lines[0].text
    return text[:place].rstrip(), [_Line(text[place:].lstrip()), *lines[1:]]
