"""Plans for many plots: the same core as everywhere, without what no reminder says.

A plot that lies has one layout, so that nothing is enumerated, and its hydraulics depend neither
on the crop nor on the day: plots that are alike share them. The parts list with its cost, the
remedies, the bad cases and the months, which only a plan shows, are left out. What is there is
equal to what `advice.planned` gives, because the same functions made it; a test holds it to that.
"""

from __future__ import annotations

from collections import OrderedDict
from datetime import date
from threading import Lock

from service.advice import Planner
from service.advice.myplot_card import water_only
from service.advice.planning import Planned
from service.sizing.card import PlotCard
from service.sizing.geometry import Lines
from service.sizing.ranking import HOURS_A_DAY, groups, rater
from service.sizing.result import Plan
from service.sizing.sized import Candidate
from service.sizing.tables import Tables

KEPT_LAYOUTS = 4096
"""Layouts remembered; about 18 kB each (measured)."""


class ManyPlans(Planner):
    """Plans cards quickly; threads may share it."""

    def __init__(self, tables: Tables, kept: int = KEPT_LAYOUTS) -> None:
        super().__init__(tables)
        self._most, self._lock = kept, Lock()
        self._layouts: OrderedDict[str, Planned] = OrderedDict()

    def planned(self, card: PlotCard, today: date) -> Planned:
        """Return the recommended layout and its minutes; raises CardError and NotConverged."""
        if not _fixed(card):
            with self._lock:
                return super().planned(card, today)
        key = water_only(card)
        with self._lock:
            found = self._layouts.pop(key, None)
        found = found or _only_layout(card, self.tables)
        with self._lock:
            self._layouts[key] = found
            if len(self._layouts) > self._most:
                self._layouts.popitem(last=False)
        return found


def _fixed(card: PlotCard) -> bool:
    """Whether a card leaves no choice of layout."""
    layout = card.layout
    choices = (layout.tank_position, layout.lines_run, layout.blocks, card.line_spacing_m)
    return None not in (*choices, card.submain.inner_diameter_mm)


def _only_layout(card: PlotCard, tables: Tables) -> Planned:
    lines = Lines(card.stand_height_m + card.tank.water_depth_m)
    rate = rater(None, None, HOURS_A_DAY)
    one: Candidate
    (one,) = (
        rated.candidate for group in groups(card, tables.pipes, lines, rate) for rated in group
    )
    return Planned(Plan(layouts=(one.layout(),), recommended=0), one.minutes_for_litres)
