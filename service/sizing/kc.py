"""Crop coefficient: four stages, the curve between them, and the two corrections that drip needs.

FAO-56 chapter 6 and Annex 7 (read). Day 1 is the day of planting.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import Literal

from service.errors import OutOfRange

Stage = Literal["initial", "development", "mid", "late", "none"]
SoilGroup = Literal["coarse", "medium", "fine"]

BARE_SOIL_FACTOR = 1.15
"""Evaporation of wet bare soil over ETo [-]; FAO-56 Annex 7."""
EVAPORATION_IN_KC_MID = 0.05
"""What wet soil under leaves adds to the plant's own coefficient in mid-season [-]: Table 12 less
Table 17 of FAO-56 for most crops (Table 17 read in a public package, not in print)."""
SHADED_FROM_DRIP = 2 / 3
"""Share of the leaves' cover that keeps the sun from soil wetted under them [-]; FAO-56 p. 147."""


@dataclass(frozen=True, slots=True)
class StageDays:
    """Lengths of the four stages [days]."""

    initial: float
    development: float
    mid: float
    late: float

    @property
    def total(self) -> float:
        """Days from planting to the last picking."""
        return self.initial + self.development + self.mid + self.late


@dataclass(frozen=True, slots=True)
class KcCurve:
    """The flat, straight, flat, straight line of FAO-56 Figure 34 [-].

    `stages` None is a crop that stands evergreen: `mid` all the year. `holds` keeps `mid`
    for good once it is reached (a young plant that grows in and stays).

    A straight line through the development stage is too low under drip: the strip is wet every
    day while the plants grow over it. With `cover_power` given, that stage is the sum of plant
    and strip, see `_growing`.
    """

    initial: float
    mid: float
    end: float
    stages: StageDays | None
    holds: bool = False
    cover_power: float | None = None

    def stage(self, day: float) -> Stage:
        """Return the growth stage on a day since planting, day 1 being planting itself."""
        if self.stages is None:
            return "mid"
        first, second = self.stages.initial, self.stages.initial + self.stages.development
        if day <= first:
            return "initial"
        if day <= second:
            return "development"
        if self.holds or day <= second + self.stages.mid:
            return "mid"
        return "late" if day <= self.stages.total else "none"

    def at(self, day: float) -> float:
        """Crop coefficient on a day since planting; FAO-56 eq. 66. After the end: 0."""
        stage = self.stage(day)
        if stage == "none":
            return 0.0
        if self.stages is None or stage == "mid":
            return self.mid
        if stage == "initial":
            return self.initial
        if stage == "development":
            return self._growing((day - self.stages.initial) / self.stages.development)
        share = (day - (self.stages.total - self.stages.late)) / self.stages.late
        return self.mid + share * (self.end - self.mid)

    def _growing(self, share: float) -> float:
        """Coefficient `share` of the way through the development stage [-].

        The plant's own part grows in a straight line up to Kc mid - 0.05 (FAO-56 eq. 69); the
        strip gives off what it did under seedlings, less two thirds of what the leaves cover
        (eq. 75, drip), and they cover share^(1 + h/2) (eq. 76, nothing at the start). Never below
        the straight line of eq. 66, nor above Kc mid. See docs/decisions/14-crop-coefficient.md.
        """
        straight = self.initial + share * (self.mid - self.initial)
        if self.cover_power is None:
            return straight
        plant = share * (self.mid - EVAPORATION_IN_KC_MID)
        strip = self.initial * (1 - SHADED_FROM_DRIP * float(share**self.cover_power))
        return max(straight, min(self.mid, plant + strip))

    def mean(self, first_day: int, last_day: int) -> float:
        """Mean of a run of days, both counted, by their middles as FAO-56 Figure 36 has it."""
        days = range(first_day, last_day + 1)
        return sum(self.at(day - 0.5) for day in days) / len(days)

    def grown_in(self, day: float) -> float:
        """Share of the way from seedling to full cover [-]: 0 in the initial stage, 1 from mid."""
        if self.stages is None:
            return 1.0
        share = (day - self.stages.initial) / self.stages.development
        return min(1.0, max(0.0, share))


def cover_power(height_m: float) -> float:
    """Exponent between a plant's growth and the ground it covers [-]; FAO-56 eq. 76."""
    return 1 + 0.5 * height_m


def climate_adjusted(kc: float, height_m: float, wind_2m: float, humidity_min_pct: float) -> float:
    """Crop coefficient for a climate other than 2 m/s and 45 %; FAO-56 eqs 62 and 65 [-].

    Wind is kept within 1 to 6 m/s, lowest humidity within 20 to 80 %, height within 0.1 to 10 m,
    the ranges the equation was made for. `kc` under 0.45 at the end of a season stays (eq. 65).
    """
    wind = min(6.0, max(1.0, wind_2m))
    humidity = min(80.0, max(20.0, humidity_min_pct))
    height = min(10.0, max(0.1, height_m))
    return kc + (0.04 * (wind - 2) - 0.004 * (humidity - 45)) * float((height / 3) ** 0.3)


def lowest_humidity(tmax_c: float, dew_point_pressure_kpa: float) -> float:
    """Lowest humidity of the day [%] from vapour pressure and Tmax; FAO-56 eq. 63."""
    saturated = 0.6108 * exp(17.27 * tmax_c / (tmax_c + 237.3))
    return min(100.0, 100 * dew_point_pressure_kpa / saturated)


def wetting_kc_initial(
    eto_mm_day: float, interval_days: float, total_mm: float, ready_mm: float
) -> float:
    """Initial crop coefficient of a surface wetted all over [-]; FAO-56 eqs 7-1 to 7-4.

    Raises
    ------
    OutOfRange
        ETo or the interval not above zero.
    """
    if eto_mm_day <= 0 or interval_days <= 0:
        raise OutOfRange("ETo times wetting interval", min(eto_mm_day, interval_days), 0.01, 100)
    potential = BARE_SOIL_FACTOR * eto_mm_day
    if interval_days <= ready_mm / potential:
        return BARE_SOIL_FACTOR
    drying = (interval_days - ready_mm / potential) * potential
    left = (total_mm - ready_mm) * exp(-drying * (1 + ready_mm / (total_mm - ready_mm)) / total_mm)
    return min(BARE_SOIL_FACTOR, (total_mm - left) / (interval_days * eto_mm_day))


def drip_kc_initial(
    eto_mm_day: float,
    interval_days: float,
    wetted_fraction: float,
    total_mm: float,
    ready_mm: float,
) -> float:
    """Initial crop coefficient of a whole field of which only a strip is wetted [-]; FAO-56 eq. 60.

    A strip that gets water every day is kept wet, so that the soil's own evaporable water (Table
    19) applies, not the little of light wettings on dry ground. Daily drip on 0.3 to 0.4 of the
    ground then takes 0.35 to 0.46 on most soils, against 0.6 to 0.7 in Table 12 for vegetables
    that are wetted all over.

    Parameters
    ----------
    eto_mm_day, interval_days : float
        Reference evapotranspiration [mm/day] and time between waterings [days], above zero.
    wetted_fraction : float
        Share of the ground that is wetted [-].
    total_mm, ready_mm : float
        Total and readily evaporable water of the top soil [mm].

    Raises
    ------
    OutOfRange
        ETo or the interval not above zero.
    """
    return wetted_fraction * wetting_kc_initial(eto_mm_day, interval_days, total_mm, ready_mm)
