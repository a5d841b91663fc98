"""What one plot needs in one week: its water by advice's own functions, its stage, what is due."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from service.advice import Context
from service.advice.myplot_card import is_laid
from service.advice.upkeep_screens import days_done, from_open_water, water_sign
from service.advice.water_case import PlotWater, crop_waters, has_plot
from service.advice.water_reports import unasked_report
from service.advice.water_screens import todays_water
from service.errors import CardError, NotConverged
from service.sizing.kc import Stage
from service.sizing.soil_store import Feel
from service.sizing.today import WET, Report, Today, water_today
from service.sizing.upkeep import TASKS, Task, due_tasks, every_days
from service.sizing.watering import day_need, growing_day, kc_curve

Answers = Mapping[str, object]
BROKEN = (ValueError, TypeError, LookupError, ArithmeticError)
"""What answers that nobody's conversation would have kept may raise, such as imported ones."""

WEEK = 7
SOON = 3
"""A task due so many days on is named with those due today: half a week either way [days]."""
DAY_MINUTES = 24 * 60
OF_TODAY = ("soil_feel", "rain_fallen_m", "tanks_today")
"""Answers about one morning, which say nothing of a week."""


@dataclass(frozen=True)
class PlotWeek:
    """One plot on the day on which it is written to.

    Attributes
    ----------
    waters : tuple of PlotWater
        The plot once for each crop on its lines, the main one first.
    answers : mapping
        What was told of it, without that of one morning.
    """

    waters: tuple[PlotWater, ...]
    answers: Answers
    context: Context

    @property
    def main(self) -> PlotWater:
        """The plot with its main crop."""
        return self.waters[0]

    @property
    def day(self) -> date:
        """The day asked on."""
        return self.context.today

    def needs(self) -> list[tuple[PlotWater, Today]]:
        """Return the water of a usual day of this week, for each crop."""
        return [(each, self._usual(each, Report())) for each in self.waters]

    def _usual(self, water: PlotWater, report: Report) -> Today:
        return water_today(water.case, self.day, report, water.strip_rate_mm_h)

    def rests_when(self) -> Feel | None:
        """Return the shallowest wet soil that would let the plot go without water on a day."""
        return next((f for f in WET if self._usual(self.main, Report(feel=f)).skip_days), None)

    def rest_days(self) -> int:
        """Return for how many days rain or soil that somebody reported let the plot rest."""
        report = unasked_report(self.answers, self.context)
        known = [todays_water(each, report, self.answers, self.context) for each in self.waters]
        return min(today.skip_days for today in known)

    @property
    def stage(self) -> Stage:
        """Growth stage of the main crop; none when nothing grows."""
        return self._stage(self.day)

    def _stage(self, day: date) -> Stage:
        case = self.main.case
        return "none" if day < case.planted else day_need(case, kc_curve(case), day).stage

    def new_stage(self) -> Stage | None:
        """Return the stage that began within the last week, the first one included."""
        now, before = self.stage, self._stage(self.day - timedelta(days=WEEK))
        return None if now in (before, "none") else now

    @property
    def ends_on(self) -> date | None:
        """Last day of a crop of one season; None for one that stays."""
        case = self.main.case
        if case.crop.cycle != "season" or case.crop.stages is None:
            return None
        return case.planted + timedelta(days=int(case.crop.stages.total) - 1)

    @property
    def grows(self) -> bool:
        """Whether any crop of the plot grows on the day."""
        return any(growing_day(each.case, self.day) is not None for each in self.waters)


def plot_week(answers: Answers, context: Context) -> PlotWeek | None:
    """Return the plot of the answers, or None when they make none."""
    known = {name: value for name, value in answers.items() if name not in OF_TODAY}
    if not has_plot(known, context):
        return None
    try:
        return PlotWeek(crop_waters(known, context), known, context)
    except (CardError, NotConverged):
        return None


def in_use(answers: Answers) -> bool:
    """Whether the plot lies, or something was planted on it: one only thought of needs no text."""
    return is_laid(answers) or float(str(answers.get("weeks_since_planting") or 0)) > 0


def due_this_week(answers: Answers, today: date, since: date) -> tuple[Task, ...]:
    """Return the tasks to name in a weekly text, the most overdue first.

    A task never reported as done is taken to be done on time since the day `since`, so that each
    round of it is named once and not every week.
    """
    sign, open_water = water_sign(answers), from_open_water(answers)
    rounds = {task: every_days(task, sign, open_water=open_water) for task in TASKS}
    taken = {task: _on_time(every, today, since) for task, every in rounds.items()}
    done = taken | days_done(answers)
    found = due_tasks(done, today, sign, open_water=open_water)
    return tuple(each.task for each in found if each.in_days <= min(SOON, rounds[each.task] // 2))


def _on_time(every: int, today: date, since: date) -> date:
    """The last round before the one that is nearest to this week."""
    passed = max(0, (today - since).days)
    return since + timedelta(days=every * ((passed - SOON - 1) // every))


def weeks_over(week: PlotWeek) -> int | None:
    """Return how many whole weeks ago the crop ended; None while it grows or when it stays."""
    end = week.ends_on
    if end is None or week.grows or week.day <= end:
        return None
    return (week.day - end).days // WEEK


class Need(NamedTuple):
    """Water of a usual day of a plot: litres, minutes of open valve, and fills of the tank.

    None where the plot cannot be given them: no minutes when its tank stops early or a day is too
    short.
    """

    litres: float
    minutes: float | None
    fills: float | None


def need_of(needs: Sequence[tuple[PlotWater, Today]]) -> Need:
    """Return the water of a day of a plot with these crops; the valve is open for the slowest."""
    litres = sum(today.gross_litres for _, today in needs)
    times = [each.minutes_for_litres(today.gross_litres) for each, today in needs]
    known = [minutes for minutes in times if minutes is not None and minutes <= DAY_MINUTES]
    delivered = needs[0][0].layout.delivered_litres
    return Need(
        litres,
        max(known) if len(known) == len(times) else None,
        litres / delivered if delivered > 0 else None,
    )


def too_slow(needs: Sequence[tuple[PlotWater, Today]]) -> bool:
    """Whether a day is too short for the water of a day."""
    times = [each.minutes_for_litres(today.gross_litres) or 0.0 for each, today in needs]
    return max(times) > DAY_MINUTES
