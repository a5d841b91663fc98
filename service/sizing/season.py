"""A whole season of one plot, day by day: water used, days of thirst, harvest kept.

The soil starts full in the strip (the plot is watered in) and dry beside it. Every morning drip
brings back what the strip is short of after the rain that the climate lets us count on, as far as
the supply goes. `season_many` computes the same for many plots at once.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from service.sizing.soil_store import (
    DayBalance,
    Store,
    Zone,
    day_balance,
    total_available,
    water_due,
    zone,
)
from service.sizing.watering import YEAR_DAYS, Case, gross_litres, kc_curve


@dataclass(frozen=True, slots=True)
class Season:
    """Sums over a season.

    Attributes
    ----------
    days : int
        Days counted: the crop's own, or a year of one that stays.
    need_mm, used_mm : float
        What the crop would drink unhindered, and what it got [mm].
    drip_mm, lost_mm : float
        Net drip, and water that went below the roots [mm].
    gross_litres, peak_litres : float
        Leaving the valve in all, and on the thirstiest day [L].
    thirsty_days : int
        Days on which the soil held the crop back (Ks below 1).
    yield_share : float or None
        Harvest kept by FAO-56 eq. 90 [-]; None where the crop has no Ky.
    """

    days: int
    need_mm: float
    used_mm: float
    drip_mm: float
    lost_mm: float
    gross_litres: float
    peak_litres: float
    thirsty_days: int
    yield_share: float | None


def season_days(case: Case) -> int:
    """Days of the season: from planting to the last picking, or one year of a crop that stays."""
    if case.crop.cycle in ("season", "dormant") and case.crop.stages is not None:
        return int(case.crop.stages.total)
    return YEAR_DAYS


def first_store(case: Case) -> Store:
    """Soil on the day of planting: full in the strip, nothing within reach beside it."""
    return Store(0.0, total_available(case.soil.available_mm_per_m, case.crop.root_min_m))


@dataclass(frozen=True, slots=True)
class SeasonDay:
    """One day of a season: its number since planting, need and net drip [mm], and the balance."""

    number: int
    need_mm: float
    drip_mm: float
    balance: DayBalance


def days_of_season(case: Case, supply_l_day: float | None = None) -> Iterator[SeasonDay]:
    """Each day of a season that gets at most `supply_l_day` [L/day], or all that it wants."""
    curve = kc_curve(case)
    most = float("inf") if supply_l_day is None else supply_l_day / gross_litres(case, 1.0)
    store = first_store(case)
    for number in range(1, season_days(case) + 1):
        date = case.planted + datetime.timedelta(days=number - 1)
        etc = curve.at(number) * case.climate.eto_on(date)
        rain = case.climate.effective_rain_on(date)
        here = zone(case.crop, case.soil, number, etc, case.wetted_fraction)
        drip = min(most, _due_after(store, here, rain))
        balance = day_balance(store, here, etc, rain, drip)
        store = balance.store
        yield SeasonDay(number, etc, drip, balance)


def season(case: Case, supply_l_day: float | None = None) -> Season:
    """Season of a plot that gets at most `supply_l_day` [L/day], or all that it wants."""
    litres_per_mm = gross_litres(case, 1.0)
    need = used = drip = lost = peak = 0.0
    thirsty = 0
    for day in days_of_season(case, supply_l_day):
        need, used = need + day.need_mm, used + day.balance.evapotranspiration_mm
        drip, peak = drip + day.drip_mm, max(peak, day.drip_mm)
        lost += day.balance.lost_mm
        thirsty += day.balance.stress < 1
    return Season(
        season_days(case),
        need,
        used,
        drip,
        lost,
        drip * litres_per_mm,
        peak * litres_per_mm,
        thirsty,
        yield_share(used, need, case.crop.ky),
    )


def _due_after(store: Store, here: Zone, rain_mm: float) -> float:
    return water_due(Store(max(0.0, store.strip_mm - rain_mm), store.beside_mm), here)


def yield_share(used_mm: float, need_mm: float, ky: float | None) -> float | None:
    """Share of the harvest kept when the crop drank less than it wanted [-]; FAO-56 eq. 90."""
    if ky is None or need_mm <= 0:
        return None
    return max(0.0, 1 - ky * (1 - min(1.0, used_mm / need_mm)))
