"""Water for one day on the word of whoever stands on the plot: rain in mm, or the feel of the soil.

What was reported comes before the table: rain that did not fall is not counted, rain that did
stays in the soil, and a finger overrules both. The plot is taken to have been watered as told, so
that the strip is short of one day's water in the morning and roots beside it have used what is
easy; nothing is kept between days.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from service.sizing.kc import Stage
from service.sizing.soil_store import (
    Feel,
    Sets,
    Store,
    Zone,
    counted_rain,
    day_balance,
    days_to_skip,
    felt,
    root_depth,
    sets_a_day,
    water_due,
    zone,
)
from service.sizing.watering import Case, day_need, gross_litres, growing_day, kc_curve

WET: tuple[Feel, ...] = ("finger", "hand")
"""Feels that may let a day go by: wet below the crust."""
CATCH_UP = 1.5
"""Most that a dry soil is given on one day, over the crop's own need [-]: our choice, since water
must be carried for it; still dry the next day, it gets as much again."""
AFTER_FEEL_DAYS = 2
"""Most days that one digging lets pass [days]: our choice."""
LEAST_SHARE = 0.1
"""Share of the day's need that is still worth opening the valve for [-]: our choice."""
NOTHING = Sets(1, "none")


@dataclass(frozen=True, slots=True)
class Report:
    """What was seen on the plot this morning, before watering.

    `rain_mm` fell since the last watering; None with no `feel` either: nothing fell, nobody dug.
    """

    feel: Feel | None = None
    rain_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Today:
    """What to give today.

    Attributes
    ----------
    stage : str
        Growth stage; none when nothing grows today.
    need_mm : float
        What the crop drinks today [mm over the ground].
    net_mm, gross_litres : float
        To be brought today, over the ground [mm] and at the valve [L]; 0 while the soil holds out.
    skip_days : int
        Whole days from today on which no water is due; then dig again.
    sets : Sets
        Into how many openings the water is divided, and why.
    """

    stage: Stage
    need_mm: float
    net_mm: float
    gross_litres: float
    skip_days: int
    sets: Sets


def water_today(
    case: Case, day: datetime.date, report: Report, strip_rate_mm_h: float = 0.0
) -> Today:
    """Water of a day from the soil's store and a report.

    Parameters
    ----------
    case : Case
        The crop on its plot.
    report : Report
        Rain or feel; the feel wins where both are given.
    strip_rate_mm_h : float
        Water that the emitters give to the strip [mm/h]; decides whether a heavy soil puddles.
    """
    curve = kc_curve(case)
    need = day_need(case, curve, day)
    number = growing_day(case, day)
    etc = need.kc * need.eto_mm_day
    if number is None or etc <= 0:
        return Today(need.stage, 0.0, 0.0, 0.0, 0, NOTHING)
    here = zone(case.crop, case.soil, number, etc, case.wetted_fraction)
    before = _this_morning(here, etc)
    store = _after(report, before, here, need.eto_mm_day, _roots(case, number))
    skip = _rest(report, before, store, here, etc)
    net = 0.0 if skip else min(water_due(store, here), CATCH_UP * etc)
    if net <= LEAST_SHARE * etc:
        # So little is left to fill that opening the valve is not worth while.
        skip, net = max(1, skip), 0.0
    sets = sets_a_day(net, here, case.soil, strip_rate_mm_h) if net > 0 else NOTHING
    return Today(need.stage, etc, net, gross_litres(case, net), skip, sets)


def _roots(case: Case, number: int) -> float:
    return root_depth(case.crop, case.crop.stages, number)


def _this_morning(here: Zone, etc_mm: float) -> Store:
    """Soil after a day like the one to come, on a plot that was full the morning before."""
    beside = here.ready_mm
    return day_balance(Store(0.0, beside), here, etc_mm).store


def _after(report: Report, store: Store, here: Zone, eto_mm: float, roots_m: float) -> Store:
    if report.feel is not None:
        return felt(store, here, report.feel, roots_m)
    rain = counted_rain(report.rain_mm or 0.0, eto_mm)
    return Store(max(0.0, store.strip_mm - rain), max(0.0, store.beside_mm - rain))


def _rest(report: Report, before: Store, after: Store, here: Zone, etc_mm: float) -> int:
    """Days without water, where something was reported that lets the plot rest.

    The table alone never does: a strip that could wait a day is watered all the same, since a
    small tank cannot make it good later. Rain lets as many days pass as the water of it that
    stayed in reach is worth.
    """
    if report.feel is not None:
        days = days_to_skip(after, here, etc_mm) if report.feel in WET else 0
        return min(AFTER_FEEL_DAYS, days)
    kept = here.wetted * (before.strip_mm - after.strip_mm)
    kept += here.beside * (before.beside_mm - after.beside_mm)
    return min(int(kept / etc_mm + 1e-9), days_to_skip(after, here, etc_mm))
