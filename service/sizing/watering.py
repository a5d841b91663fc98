"""From crop and climate to litres a day: one month at a time, and today.

Net need is Kc ETo less the rain that counts; gross need is what must leave the valve so that
the least watered quarter of the plot still gets the net need. Area is the whole plot, each plant
with the ground it stands for, not the wet strip. Under drip only a strip evaporates while the
plants are small, so the initial coefficient is computed from the wetting (FAO-56 eqs 60 and 7-3,
in `kc`), and no cover factor is put on top of it.
"""

from __future__ import annotations

import datetime
from calendar import monthrange
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import fsum

from service.errors import OutOfRange
from service.sizing.climate import Climate
from service.sizing.crops import Crop
from service.sizing.kc import (
    KcCurve,
    Stage,
    climate_adjusted,
    cover_power,
    drip_kc_initial,
)
from service.sizing.leaching import (
    SMALL_LEACHING,
    leaching_requirement,
    salt_yield_share,
    soil_salinity,
)
from service.sizing.result import PlanWarning, SupplyCheck, WateringMonth
from service.sizing.soils import Soil
from service.units import BUCKET_L

WETTED_FRACTION = 0.4
"""Share of the ground that drip wets [-]: upper end of the 0.3 to 0.4 of FAO-56 Table 20, p. 149
(read), since seedlings that get too little die."""
INTERVAL_DAYS = 1.0
"""Between waterings [days]: drip from a small tank runs daily."""
LEAST_UNIFORMITY = 0.5
"""Emission uniformity below which more water no longer helps [-]: our choice. A dry line end needs
another layout, not twice the fills."""
YEAR_DAYS = 365
MIN_ADJUSTED_END_KC = 0.45
"""Kc at the end of the season from which eq. 65 applies [-]; FAO-56 p. 127 (read)."""
LITTLE_ETO = 0.1
"""ETo [mm/day] below which the wetting equations are not asked."""


@dataclass(frozen=True, slots=True)
class Case:
    """Everything that the need of one plot depends on.

    Attributes
    ----------
    area_m2 : float
        The plot, or the part of it under this crop [m²].
    emission_uniformity : float
        Of the layout [-], 0 to 1.
    planted : date
        Day of planting; of pruning or bud break for a crop that rests every year.
    water_ec_ds_m : float
        Salinity of the water [dS/m].
    wetted_fraction : float
        Share of the ground that is wetted [-].
    """

    crop: Crop
    soil: Soil
    climate: Climate
    area_m2: float
    emission_uniformity: float
    planted: datetime.date
    water_ec_ds_m: float = 0.0
    wetted_fraction: float = WETTED_FRACTION
    interval_days: float = INTERVAL_DAYS

    def __post_init__(self) -> None:
        if self.area_m2 <= 0:
            raise OutOfRange("area [m2]", self.area_m2, 0.01, 1e6)
        if not 0 <= self.emission_uniformity <= 1:
            raise OutOfRange("emission uniformity [-]", self.emission_uniformity, 0, 1)
        if not 0 < self.wetted_fraction <= 1:
            raise OutOfRange("wetted fraction [-]", self.wetted_fraction, 0.01, 1)


@dataclass(frozen=True, slots=True)
class Need:
    """What the plot needs on one day, or on each growing day of one month.

    `day` is the day itself or the first growing day of the month. Depths [mm/day] hold over the
    whole area; `gross_l_day` [L/day] leaves the valve. `rain_mm_day` is the rain that counts.
    """

    day: datetime.date
    stage: Stage
    eto_mm_day: float
    kc: float
    rain_mm_day: float
    net_mm_day: float
    gross_l_day: float
    growing_days: int

    @property
    def month(self) -> int:
        """Month of the year, 1 to 12."""
        return self.day.month


@dataclass(frozen=True, slots=True)
class WaterNeed:
    """A season's need: its months in order, today (or the planting day to come), the peak."""

    case: Case
    months: tuple[Need, ...]
    now: Need
    peak: Need
    leaching: float
    warnings: tuple[PlanWarning, ...]


def water_need(case: Case, today: datetime.date) -> WaterNeed:
    """Need of the crop through its season, and now.

    A crop that stays for years gets twelve months from today, or from planting if that is still
    to come; any other its whole season, past months too.
    """
    curve = kc_curve(case)
    months = tuple(_month_need(case, curve, first) for first in _months(case, today))
    now = day_need(case, curve, max(today, case.planted))
    # Rounded, so that months that are equal but for the last bits are told apart by their order.
    peak = max(months, key=lambda need: round(need.gross_l_day, 6))
    leaching = leaching_requirement(case.water_ec_ds_m, case.crop.salt)
    return WaterNeed(case, months, now, peak, leaching, tuple(_warnings(case, now, leaching)))


def planting_day(
    planting_date: datetime.date | None, weeks_since: float | None, today: datetime.date
) -> tuple[datetime.date, bool]:
    """Day of planting, and whether it was assumed: nobody said, so the plot is planted today."""
    if planting_date is not None:
        return planting_date, False
    if weeks_since is not None:
        return today - datetime.timedelta(days=round(7 * weeks_since)), False
    return today, True


def kc_curve(case: Case) -> KcCurve:
    """Coefficient curve of the crop on this plot, for its climate and for drip.

    Mid and end are corrected by eqs 62 and 65 where the district's wind and humidity are known;
    the initial value comes from the wetting of the strip (eqs 60 and 7-3), the development stage
    from plant and strip together (eqs 69, 75 and 76).
    """
    crop = case.crop
    if crop.stages is None:
        mean = _adjusted(case, crop.steady_kc, 0, YEAR_DAYS)
        return KcCurve(mean, mean, mean, None)
    first = crop.stages.initial + crop.stages.development
    mid = _adjusted(case, crop.kc_mid, first, first + crop.stages.mid)
    end = crop.kc_end
    if end >= MIN_ADJUSTED_END_KC:
        end = _adjusted(case, end, first + crop.stages.mid, crop.stages.total)
    halfway = case.planted + datetime.timedelta(days=crop.stages.initial / 2)
    return KcCurve(
        _initial_kc(case, case.climate.eto_on(halfway)),
        mid,
        end,
        crop.stages,
        holds=crop.cycle == "grows_in",
        cover_power=cover_power(crop.height_m),
    )


def _initial_kc(case: Case, eto_mm_day: float) -> float:
    """Coefficient of the wetted strip over the whole plot."""
    return drip_kc_initial(
        max(LITTLE_ETO, eto_mm_day),
        case.interval_days,
        case.wetted_fraction,
        case.soil.tew_mm,
        case.soil.rew_mm,
    )


def _adjusted(case: Case, kc: float, first_day: float, last_day: float) -> float:
    """Coefficient for the wind and humidity of the days first_day..last_day after planting."""
    wind, humidity = case.climate.wind_2m, case.climate.humidity_min_pct
    if wind is None or humidity is None:
        return kc
    days = range(int(first_day) + 1, max(int(last_day), int(first_day) + 1) + 1, 10)
    months = [(case.planted + datetime.timedelta(days=day)).month - 1 for day in days]
    return climate_adjusted(
        kc,
        case.crop.height_m,
        sum(wind[month] for month in months) / len(months),
        sum(humidity[month] for month in months) / len(months),
    )


def growing_day(case: Case, day: datetime.date) -> int | None:
    """Day number since planting, day 1 being planting; None when nothing grows that day."""
    return day_of_growth(case.crop, case.planted, day)


def day_of_growth(crop: Crop, planted: datetime.date, day: datetime.date) -> int | None:
    """The same of a crop and the day on which it was planted."""
    number = (day - planted).days + 1
    if number < 1:
        return None
    if crop.cycle == "dormant":
        number = (day - _last_anniversary(planted, day)).days + 1
    if crop.cycle in ("season", "dormant") and crop.stages is not None:
        return number if number <= crop.stages.total else None
    return number


def _last_anniversary(planted: datetime.date, day: datetime.date) -> datetime.date:
    """Last day up to `day` on which the year of a resting crop began; 29 February counts as 28."""
    begins = (planted.month, min(planted.day, 28) if planted.month == 2 else planted.day)
    year = day.year if (day.month, day.day) >= begins else day.year - 1
    return max(planted, datetime.date(year, *begins))


def day_need(case: Case, curve: KcCurve, day: datetime.date) -> Need:
    """Need on one day, with ETo and rain that change without steps."""
    number = growing_day(case, day)
    eto = case.climate.eto_on(day)
    if number is None:
        return Need(day, "none", eto, 0.0, 0.0, 0.0, 0.0, 0)
    kc = curve.at(number)
    rain = case.climate.effective_rain_on(day) * rain_share(case, curve, number)
    net = max(0.0, kc * eto - rain)
    return Need(day, curve.stage(number), eto, kc, rain, net, gross_litres(case, net), 1)


def rain_share(case: Case, curve: KcCurve, day: float) -> float:
    """Share of the rain that falls where the crop can use it [-].

    Seedlings reach only the wetted strip, and their coefficient counts only its evaporation; a
    full crop's roots reach all the rain. Between, a straight line: our reasoning, no source.
    """
    wetted = case.wetted_fraction
    return wetted + (1 - wetted) * curve.grown_in(day)


def gross_litres(case: Case, net_mm_day: float) -> float:
    """Litres a day that must leave the valve for a net need [mm/day].

    1 mm on 1 m² is 1 litre (FAO-56 Table 1). net x area / EU, and / (1 - LR) where more than a
    tenth must pass the roots (Keller and Bliesner 1990, from memory, not verified). EU under
    one half counts as one half.
    """
    uniformity = max(LEAST_UNIFORMITY, case.emission_uniformity)
    leaching = leaching_requirement(case.water_ec_ds_m, case.crop.salt)
    kept = 1 - leaching if leaching > SMALL_LEACHING else 1.0
    return net_mm_day * case.area_m2 / (uniformity * kept)


def _months(case: Case, today: datetime.date) -> Iterator[datetime.date]:
    """First day of each month of the plan."""
    if case.crop.cycle == "season" and case.crop.stages is not None:
        start = case.planted
        end = start + datetime.timedelta(days=int(case.crop.stages.total) - 1)
        count = (end.year - start.year) * 12 + end.month - start.month + 1
    else:
        start, count = max(today, case.planted), 12
    month = start.replace(day=1)
    for _ in range(count):
        yield month
        month = (month + datetime.timedelta(days=31)).replace(day=1)


def _month_need(case: Case, curve: KcCurve, first: datetime.date) -> Need:
    """Mean need of the growing days of a month, from the month's own ETo and rain."""
    length = monthrange(first.year, first.month)[1]
    dates = (first + datetime.timedelta(days=day) for day in range(length))
    numbered = [(date, number) for date in dates if (number := growing_day(case, date))]
    eto = case.climate.eto_mm_day[first.month - 1]
    if not numbered:
        return Need(first, "none", eto, 0.0, 0.0, 0.0, 0.0, 0)
    days = [number for _, number in numbered]
    # Middles of days, as FAO-56 Figure 36 takes them.
    kc = fsum(curve.at(number - 0.5) for number in days) / len(days)
    share = fsum(rain_share(case, curve, number - 0.5) for number in days) / len(days)
    rain = case.climate.effective_mm_day[first.month - 1] * share
    net = max(0.0, kc * eto - rain)
    stage = curve.stage(days[len(days) // 2])
    return Need(numbered[0][0], stage, eto, kc, rain, net, gross_litres(case, net), len(days))


def _warnings(case: Case, now: Need, leaching: float) -> Iterator[PlanWarning]:
    if now.stage == "none":
        yield PlanWarning(code="season_over", crop=case.crop.key)
    if case.climate.origin == "class":
        eto = max(case.climate.eto_mm_day)
        yield PlanWarning(code="climate_unknown", eto_mm_day=eto)
    if case.emission_uniformity < LEAST_UNIFORMITY:
        yield PlanWarning(
            code="uniformity_too_low_for_litres",
            emission_uniformity_pct=100 * case.emission_uniformity,
        )
    yield from _salt_warning(case, leaching)


def _salt_warning(case: Case, leaching: float) -> Iterator[PlanWarning]:
    ece = soil_salinity(case.water_ec_ds_m)
    share = salt_yield_share(ece, case.crop.salt)
    if (share is None and leaching > SMALL_LEACHING) or (share is not None and share < 1):
        yield PlanWarning(
            code="salty_water",
            water_ec_ds_m=case.water_ec_ds_m,
            soil_ece_ds_m=ece,
            yield_left_pct=None if share is None else 100 * share,
            leaching_pct=100 * leaching,
        )


MinutesForLitres = Callable[[float], float | None]


def fill_minutes(
    need: WaterNeed, delivered_litres: float, minutes_for_litres: MinutesForLitres
) -> tuple[WateringMonth, ...]:
    """Months of a need with fills and minutes of open valve.

    Parameters
    ----------
    delivered_litres : float
        What one full tank gives down to its outlet [L]; at 0 no fills can be counted.
    minutes_for_litres : callable
        Minutes of open valve that give so many litres, with as many fills as that takes; None when
        the tank never gives them.
    """
    return tuple(
        watering_month(month, delivered_litres, minutes_for_litres) for month in need.months
    )


def watering_month(
    need: Need, delivered_litres: float, minutes_for_litres: MinutesForLitres
) -> WateringMonth:
    """One row of the plan's watering table."""
    gross = need.gross_l_day
    fills = gross / delivered_litres if delivered_litres > 0 else 0.0
    minutes = minutes_for_litres(gross) if gross > 0 and delivered_litres > 0 else None
    return WateringMonth(
        month=need.month,
        year=need.day.year,
        stage=need.stage,
        eto_mm_day=need.eto_mm_day,
        kc=need.kc,
        rain_mm_day=need.rain_mm_day,
        net_mm_day=need.net_mm_day,
        gross_l_day=gross,
        fills_per_day=fills,
        minutes_per_day=minutes if gross > 0 else 0.0,
    )


def supply_check(need: WaterNeed, given_l_day: float | None) -> SupplyCheck:
    """Litres needed now and at the peak against the litres that can be brought a day."""
    # A month's mean hides its thirstiest days: today may be one of them.
    peak = max(need.peak.gross_l_day, need.now.gross_l_day)
    known = given_l_day is not None and peak > 0
    return SupplyCheck(
        needed_l_day=need.now.gross_l_day,
        peak_l_day=peak,
        given_l_day=given_l_day,
        enough=None if given_l_day is None else given_l_day >= peak,
        keeps_area_m2=need.case.area_m2 * given_l_day / peak if known else None,  # type: ignore[operator]
        buckets_needed_day=need.now.gross_l_day / BUCKET_L,
        buckets_peak_day=peak / BUCKET_L,
    )
