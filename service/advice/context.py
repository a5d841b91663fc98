"""What advice knows besides the answers: the tables, the day, and whom to ring."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

from service.advice.answers import Answers, card_from_answers
from service.advice.planning import Planned, planned
from service.sizing.card import PlotCard
from service.sizing.result import Plan
from service.sizing.tables import Tables

DailyRain = Callable[[str, date], Mapping[date, float]]
"""Rain of a district by day [mm] from a day on, as field officers report it."""


def no_rain(district: str, since: date) -> Mapping[date, float]:
    """No rain that anybody reported."""
    return {}


KEPT_PLANS = 64
"""Plans remembered: the screens of one answer follow each other within a minute or two."""


class Planner:
    """Plans cards, and remembers the last few, since one plan fills several screens."""

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self._kept: OrderedDict[tuple[str, date], Planned] = OrderedDict()

    def plan(self, card: PlotCard, today: date) -> Plan:
        """Return the plan of a card for a day; raises CardError as `advice.plan` does."""
        return self.planned(card, today).plan

    def planned(self, card: PlotCard, today: date) -> Planned:
        """Return the same with the minutes for other litres than the plan's."""
        key = (card.model_dump_json(exclude_unset=True), today)
        if key not in self._kept:
            self._kept[key] = planned(card, self.tables, today=today)
            if len(self._kept) > KEPT_PLANS:
                self._kept.popitem(last=False)
        self._kept.move_to_end(key)
        return self._kept[key]


@dataclass(frozen=True, slots=True)
class Context:
    """Handed to every guard, show and list of options of the flow files."""

    planner: Planner
    today: date
    helpline: str = ""
    release_treatments: bool = False
    """Whether amounts of acid and chlorine are told without a person who released them."""
    rain: DailyRain = no_rain

    @property
    def tables(self) -> Tables:
        """The tables in use."""
        return self.planner.tables

    def card(self, answers: Answers) -> PlotCard:
        """Return the plot card of the answers so far."""
        return card_from_answers(answers, self.tables.pipes, self.today)

    def plan(self, answers: Answers) -> Plan:
        """Return the plan of the answers so far."""
        return self.planner.plan(self.card(answers), self.today)
