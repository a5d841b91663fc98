"""Water for one day on the word of whoever stands on the plot: rain in mm, or the feel of the soil.

What was reported comes before the table: rain that did not fall is not counted, rain that did
stays in the soil, and a finger overrules both. The balance runs from the first report of the last
two weeks to this morning (`this_morning`): between reports the plot is taken to have been watered
as told. Without any, the strip is short of one day's water in the morning and roots beside it have
used what is easy.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from service.sizing.kc import Stage
from service.sizing.soil_store import (
    LONGEST_REST_DAYS,
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
from service.sizing.watering import Case, Need, day_need, gross_litres, growing_day, kc_curve

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
class Morning:
    """The soil before this morning's report.

    Attributes
    ----------
    store : Store
        How much the strip and the ground beside it are short of full [mm].
    rest_days : int
        Days from this one that an earlier report lets the plot rest.
    counted_rain_mm : float
        Rain that is in the store already since the plot was watered last [mm].
    """

    store: Store
    rest_days: int = 0
    counted_rain_mm: float = 0.0


NO_RAIN: Mapping[datetime.date, float] = {}


def this_morning(
    case: Case,
    day: datetime.date,
    told: Mapping[datetime.date, Report] | None = None,
    rain_mm: Mapping[datetime.date, float] = NO_RAIN,
) -> Morning | None:
    """Soil on the morning of a day, from the reports of the days before; FAO-56 eq. 85 day by day.

    Parameters
    ----------
    told : mapping of date to Report
        What was seen on the plot; reports of more than 14 days ago are not looked at.
    rain_mm : mapping of date to float
        Rain of the district by day [mm], such as a field officer reports; that of a day on which
        the farmer reported is not looked at, since the farmer's own word covers it.

    Returns
    -------
    Morning or None
        None when nothing grows, or nothing was reported.
    """
    reports = {**{on: Report(rain_mm=mm) for on, mm in rain_mm.items()}, **(told or {})}
    earliest = day - datetime.timedelta(days=LONGEST_REST_DAYS)
    days = [on for on in reports if earliest <= on < day]
    if not days:
        return None
    curve, first = kc_curve(case), min(days)
    morning: Morning | None = None
    for number in range((day - first).days):
        on = first + datetime.timedelta(days=number)
        soil = _soil_of(case, day_need(case, curve, on), on)
        told_on = reports.get(on, Report())
        morning = None if soil is None else _next_morning(soil, told_on, morning)
    return morning


def _next_morning(soil: _Soil, report: Report, morning: Morning | None) -> Morning:
    """The soil a day later, watered as told."""
    before = morning or soil.usual
    after, rest = soil.reported(report, before)
    drip = 0.0 if rest else min(water_due(after, soil.here), CATCH_UP * soil.etc_mm)
    store = day_balance(after, soil.here, soil.etc_mm, drip_mm=drip).store
    rain = before.counted_rain_mm + soil.new_rain(report, before) if rest else 0.0
    return Morning(store, max(0, rest - 1), rain)


@dataclass(frozen=True, slots=True)
class _Soil:
    """The root zone of one day, and what a report does to it."""

    here: Zone
    etc_mm: float
    eto_mm: float
    roots_m: float

    @property
    def usual(self) -> Morning:
        """Soil after a day like the one to come, on a plot that was full the morning before."""
        return Morning(day_balance(Store(0.0, self.here.ready_mm), self.here, self.etc_mm).store)

    def new_rain(self, report: Report, before: Morning) -> float:
        """Rain of a report that is not in the store yet [mm]; both count from the last watering."""
        told = counted_rain(report.rain_mm or 0.0, self.eto_mm)
        return max(0.0, told - before.counted_rain_mm)

    def reported(self, report: Report, before: Morning) -> tuple[Store, int]:
        """The store after a report, and how many days from this one need no water."""
        if report.feel is not None:
            after = felt(before.store, self.here, report.feel, self.roots_m)
            days = days_to_skip(after, self.here, self.etc_mm) if report.feel in WET else 0
            return after, min(AFTER_FEEL_DAYS, days)
        rain = self.new_rain(report, before)
        strip, beside = before.store.strip_mm, before.store.beside_mm
        after = Store(max(0.0, strip - rain), max(0.0, beside - rain))
        kept = self.here.wetted * (strip - after.strip_mm)
        kept += self.here.beside * (beside - after.beside_mm)
        days = before.rest_days + int(kept / self.etc_mm + 1e-9)
        # The table alone never lets a plot rest: a strip that could wait a day is watered all the
        # same, since a small tank cannot make it good later. Rain lets as many days pass as the
        # water of it that stayed in reach is worth.
        return after, min(days, days_to_skip(after, self.here, self.etc_mm))


def _soil_of(case: Case, need: Need, day: datetime.date) -> _Soil | None:
    """The root zone of a day with this need; None when nothing grows or drinks."""
    number = growing_day(case, day)
    etc = need.kc * need.eto_mm_day
    if number is None or etc <= 0:
        return None
    here = zone(case.crop, case.soil, number, etc, case.wetted_fraction)
    return _Soil(here, etc, need.eto_mm_day, root_depth(case.crop, case.crop.stages, number))


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
    case: Case,
    day: datetime.date,
    report: Report,
    strip_rate_mm_h: float = 0.0,
    morning: Morning | None = None,
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
    morning : Morning, optional
        The soil as earlier reports leave it; without it the plot was watered in full yesterday.
    """
    need = day_need(case, kc_curve(case), day)
    soil = _soil_of(case, need, day)
    if soil is None:
        return Today(need.stage, 0.0, 0.0, 0.0, 0, NOTHING)
    store, skip = soil.reported(report, morning or soil.usual)
    net = 0.0 if skip else min(water_due(store, soil.here), CATCH_UP * soil.etc_mm)
    if net <= LEAST_SHARE * soil.etc_mm:
        # So little is left to fill that opening the valve is not worth while.
        skip, net = max(1, skip), 0.0
    sets = sets_a_day(net, soil.here, case.soil, strip_rate_mm_h) if net > 0 else NOTHING
    return Today(need.stage, soil.etc_mm, net, gross_litres(case, net), skip, sets)
