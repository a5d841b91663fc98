"""The field guide on paper: one page a task, written from the conversations themselves.

`python -m service.wiring.field_guide` writes `docs/field-guide.md`; with `check` it only says
whether that file still is what the conversations say. Numbers are those of an invented plot. An
amount of acid or chlorine never stands in it: the helpline tells it for one plot and one day.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from service.advice import Context, Planner
from service.dialogue import Dialogue, FlowBook, Place, State
from service.dialogue.machine import entry
from service.dialogue.model import Target
from service.phrases import Choice, Screen
from service.text.catalogues import Catalogues
from service.wiring.build import flow_book
from service.wiring.tables import load_tables

CHECKOUT = Path(__file__).parents[2]
GUIDE = "docs/field-guide.md"
COMMAND = "python -m service.wiring.field_guide"
LANGUAGE = "en"

EXAMPLE: Mapping[str, object] = {
    "language": LANGUAGE,
    "laid": "told",
    "laid_lines": 20,
    "laid_line_length_m": 20.0,
    "crop": "tomato",
    "weeks_since_planting": 5,
    "tank_volume_l": 500.0,
    "stand_height_m": 1.5,
    "water_source": "clear",
    "water_sign": "none",
    "fertiliser": "urea",
}
"""An invented plot, whose numbers stand in for the reader's own."""
DAY = date(2026, 3, 2)
"""An invented day."""

NOT_SAID = frozenset(
    {
        "Done: next", "Stop here", "Next", "Begin", "Main menu", "Done today", "Not now",
        "Ring me back", "Ring me back now", "What is due", "My water has changed",
        "Helpline", "In doubt: helpline", "Ask a person", "Good now",
    }
)  # fmt: skip
"""Choices that only move the phone on."""
MANY = 8
"""A longer menu made at run time is not listed."""
FEW = 3
"""More places than this, to which the phone may lead by what it knows, are not told apart."""


@dataclass(frozen=True, slots=True)
class Page:
    """One task.

    Attributes
    ----------
    title : str
        The task.
    flow, first, last : str
        The states that it tells, in the order of the flow file, from the first to the last.
    variants : mapping
        Of a state: the answer on which its text hangs, and the values of it that are all told.
    left_out : mapping
        Of a state: what stands in its place.
    measured : bool
        Whether what a state shows hangs on measurements, so that only its own sentence is told.
    """

    title: str
    flow: str
    first: str
    last: str
    variants: Mapping[str, tuple[str, tuple[str, ...]]] = field(default_factory=dict)
    left_out: Mapping[str, str] = field(default_factory=dict)
    measured: bool = False


SIGNS = ("brown", "eggs", "crust", "green", "cloudy", "none")
REPAIRS = ("cut", "piece", "end", "tap", "main", "filter", "valve", "hole")
NO_AMOUNT = "The amount: only from the helpline, for one plot and one day, by a person to a person."

PAGES = (
    Page("Somebody hurt or in danger", "helpline", "danger", "injury"),
    Page(
        "Lay a plot: stand, tank and trial", "install", "care", "drips",
        left_out={"parts": "Count the parts by the list of your plan before you begin."},
    ),
    Page("Lay a plot: main pipe", "install", "main", "rinse_main"),
    Page("Lay a plot: lines", "install", "lines", "test"),
    Page("Lay a plot: so that it lasts", "install", "animals", "spares"),
    Page("Know your water", "upkeep", "sign", "water", {"water": ("water_sign", SIGNS)}),
    Page("Filter, and a walk along the lines", "upkeep", "filter", "walk"),
    Page("Flush", "upkeep", "lines", "lines_brown"),
    Page("Tank and stand", "upkeep", "tank", "stand"),
    Page("Blocked drippers", "upkeep", "clogged", "wait_harvest"),
    Page(
        "Acid against white crust", "upkeep", "acid_for", "acid_keep",
        left_out={"acid_dose": NO_AMOUNT},
    ),
    Page(
        "Chlorine against slime", "upkeep", "chlorine_for", "chlorine_keep",
        left_out={"chlorine_dose": NO_AMOUNT},
    ),
    Page("Feed through the tank", "feed", "care", "salt"),
    Page("Something is wrong", "fault", "see", "unsure", measured=True),
    Page("Does it water evenly?", "check", "too_few", "minutes", measured=True),
    Page(
        "Parts for a repair", "helpline", "repair", "repair_how",
        {"repair_parts": ("repair", REPAIRS), "repair_how": ("repair", REPAIRS)},
    ),
    Page("Close down after harvest", "season", "scale", "closed"),
    Page("Lay the lines again", "season", "again_stand", "again_test"),
)  # fmt: skip
"""The tasks in the order of the guide: danger first."""

ONLY_ON_THE_PHONE: Mapping[str, frozenset[str]] = {
    "helpline": frozenset({"follow_up", "glad", "word", "wanted", "noted"}),
    "install": frozenset({"need_plot", "resume", "lies", "done", "paused"}),
    "upkeep": frozenset({"source", "due"}),
    "season": frozenset(
        {"what", "resume", "paused", "need_plot", "as_planned", "next_crop", "next_fits",
         "next_weeks", "schedule", "months"}
    ),
    "feed": frozenset({"crop", "weeks", "tank", "plants", "no_feed"}),
    "fault": frozenset({"as_planned", "need_plot"}),
    "check": frozenset({"as_planned", "need_plot"}),
}  # fmt: skip
"""Screens that make no sense on paper: what was asked before, places kept, this plot's months."""


class FieldGuide:
    """The guide of a book of conversations."""

    def __init__(self, book: FlowBook, context: Context) -> None:
        self._book, self._context = book, context
        self._dialogue, self._words = Dialogue(book), Catalogues({})

    def text(self) -> str:
        """Return the whole guide."""
        contents = [f"- [{page.title}](#{_anchor(page.title)})" for page in PAGES]
        pages = ["\n".join(self._page(page)) for page in PAGES]
        return "\n".join([_opening(), *contents, "", "\n\n".join(pages)]) + "\n"

    def states(self, page: Page) -> list[str]:
        """Return the states that a page tells, by name, in their order."""
        phone = ONLY_ON_THE_PHONE.get(page.flow, frozenset())
        names = [
            name
            for name, state in self._book.flows[page.flow].states.items()
            if state.kind != "branch" and name not in phone
        ]
        return names[names.index(page.first) : names.index(page.last) + 1]

    def _page(self, page: Page) -> Iterator[str]:
        yield f"## {page.title}\n"
        for number, name in enumerate(self.states(page), start=1):
            yield from self._step(page, number, name)

    def _step(self, page: Page, number: int, name: str) -> Iterator[str]:
        if name in page.left_out:
            yield f"{number}. {page.left_out[name]}"
            return
        state = self._book.state(Place(page.flow, name))
        if name in page.variants:
            yield f"{number}. For each:"
            yield from self._variants(page, name)
        else:
            screen = self._screen(page, name, EXAMPLE)
            yield f"{number}. {self._sentences(page, state, screen)}"
        yield from self._ways(page, state)

    def _variants(self, page: Page, name: str) -> Iterator[str]:
        answer, values = page.variants[name]
        labels = self._labels(page.flow, answer)
        for value in values:
            screen = self._screen(page, name, {**EXAMPLE, answer: value})
            yield f"   - *{labels[value]}.* {self._said(screen)}"

    def _labels(self, flow: str, answer: str) -> dict[object, str]:
        """Return the choices of the question that keeps an answer, by their values."""
        return {
            line.value: self._words.translate(line.option.label, LANGUAGE)
            for state in self._book.flows[flow].states.values()
            if state.store == answer
            for line in state.choices
        }

    def _screen(self, page: Page, name: str, answers: Mapping[str, object]) -> Screen:
        if page.measured:
            state = self._book.state(Place(page.flow, name))
            return Screen((), tuple(Choice(line.key, line.option.label) for line in state.choices))
        standing = self._dialogue.place(LANGUAGE, page.flow, name, answers)
        return self._dialogue.show(standing, self._context)

    def _sentences(self, page: Page, state: State, screen: Screen) -> str:
        if not page.measured:
            return self._said(screen)
        return state.say or "*The phone reckons this from what was measured.*"

    def _said(self, screen: Screen) -> str:
        said = (self._words.translate(phrase, LANGUAGE) for phrase in screen.lines)
        return " ".join(" ".join(sentence.split()) for sentence in said)

    # --- where each answer leads --------------------------------------------------------------

    def _ways(self, page: Page, state: State) -> Iterator[str]:
        for line in state.choices:
            label = self._words.translate(line.option.label, LANGUAGE)
            if label in NOT_SAID:
                continue
            target = line.to or state.to
            yield f"   - {label}{self._leads(page, target) if target else ''}"
        if state.options and not page.measured:
            yield from self._listed(page, state)

    def _listed(self, page: Page, state: State) -> Iterator[str]:
        labels = [
            self._words.translate(choice.label, LANGUAGE)
            for choice in self._screen(page, state.name, EXAMPLE).choices
        ]
        if len(labels) <= MANY and not NOT_SAID.issuperset(labels):
            yield from (f"   - {label}" for label in labels)

    def _leads(self, page: Page, target: Target) -> str:
        places = list(dict.fromkeys(self._visible(entry(self._book.flows, target))))
        steps = [step for place in places if (step := self._number(page, place)) is not None]
        away = [place for place in places if self._number(page, place) is None]
        titles = list(dict.fromkeys(filter(None, map(self._title, away))))
        if len(steps) > FEW:
            return ": go on"
        ways = [f"go to {step}" for step in steps]
        ways += [f"see [{title}](#{_anchor(title)})" for title in titles]
        return f": {', or '.join(ways)}" if ways else ""

    def _visible(self, place: Place) -> Iterator[Place]:
        state = self._book.state(place)
        if state.kind != "branch":
            yield place
            return
        for branch in state.when:
            yield from self._visible(entry(self._book.flows, branch.to))

    def _number(self, page: Page, place: Place) -> int | None:
        names = self.states(page)
        if place.flow != page.flow or place.state not in names:
            return None
        return names.index(place.state) + 1

    def _title(self, place: Place) -> str:
        found = (page for page in PAGES if self._number(page, place) is not None)
        return next((page.title for page in found), "")


def _anchor(title: str) -> str:
    return re.sub(r"[^a-z0-9 -]", "", title.casefold()).replace(" ", "-")


def _opening() -> str:
    plot = (
        f"{EXAMPLE['laid_lines']} lines of {EXAMPLE['laid_line_length_m']:g} m, a tank of "
        f"{EXAMPLE['tank_volume_l']:g} L on a stand of {EXAMPLE['stand_height_m']:g} m"
    )
    return f"""\
# Field guide

Written from the conversations by `{COMMAND}`: change those, not this page.
The phone tells the same with the numbers of your own plot; here they are those of an invented one,
{plot}.

First aid here is common practice, from memory: a doctor, a nurse and your local emergency number
come first. Local rules, and the builder who made the stand, come before this guide.
"""


def field_guide() -> FieldGuide:
    """Return the guide of the conversations as they are now."""
    planner = Planner(load_tables(None, None).tables)
    return FieldGuide(flow_book(), Context(planner, DAY))


def main(argv: Sequence[str] | None = None, root: Path = CHECKOUT) -> int:
    """Write the guide, or say whether it is out of date; return the exit code."""
    parser = argparse.ArgumentParser(prog=COMMAND, description=__doc__)
    parser.add_argument("command", nargs="?", choices=["write", "check"], default="write")
    command = parser.parse_args(argv).command
    path, text = root / GUIDE, field_guide().text()
    if command == "write":
        path.write_text(text, encoding="utf-8", newline="\n")
        return 0
    if path.exists() and path.read_text(encoding="utf-8") == text:
        return 0
    sys.stderr.write(f"{GUIDE} is out of date; run: {COMMAND}\n")
    return 1


if __name__ == "__main__":
    sys.exit(main())
