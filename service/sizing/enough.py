"""How much land a daily amount of water keeps, and what to protect when there is not enough."""

from __future__ import annotations

import datetime
from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Literal, cast, get_args

from service.errors import OutOfRange
from service.sizing.climate import MONTHS
from service.sizing.csv_table import Row, parsed, word
from service.sizing.season import days_of_season, yield_share
from service.sizing.watering import Case, kc_curve, water_need

Protect = Literal["fruit", "pods", "cobs", "flower", "bulbs", "roots", "heads", "leaves", "always"]
Spare = Literal["ripening", "before_heads", "after_picking", "nothing"]
DEFICIT_COLUMNS = ("crop", "protect", "spare", "source", "status")


KY_HOLDS = 0.5
"""Share of the need down to which harvest falls in a straight line with water [-]: FAO-33, from
memory, not verified."""


@dataclass(frozen=True, slots=True)
class Deficit:
    """When a crop must not go short of water, and when it may."""

    crop: str
    protect: Protect
    spare: Spare
    source: str


def read_deficits(text: str, file_name: str, crops: Collection[str]) -> dict[str, Deficit]:
    """Deficit rules by crop.

    Raises
    ------
    TextFileError
        Each row that cannot be used, with its line.
    """

    def parse(row: Row) -> Deficit:
        protect, spare, crop = word(row, "protect"), word(row, "spare"), word(row, "crop")
        if crop not in crops:
            raise ValueError(f"crop: {crop!r} is not in the table of crops")
        for column, value, known in (
            ("protect", protect, get_args(Protect)),
            ("spare", spare, get_args(Spare)),
        ):
            if value not in known:
                raise ValueError(f"{column}: {value!r} is not one of {', '.join(known)}")
        return Deficit(
            crop, cast(Protect, protect), cast(Spare, spare),
            f"{row['source']} ({word(row, 'status')})".strip(),
        )  # fmt: skip

    return {rule.crop: rule for rule in parsed(text, file_name, DEFICIT_COLUMNS, parse)}


@dataclass(frozen=True, slots=True)
class Land:
    """Land that water keeps through the peak of a crop.

    `area_m2` is None where rain alone is enough at the peak. `litres_m2_day` [L/m² a day] leaves
    the valve at the peak, in month `peak_month` (1 to 12).
    """

    crop: str
    area_m2: float | None
    litres_m2_day: float
    peak_month: int


def land_kept(case: Case, litres_day: float, today: datetime.date) -> Land:
    """Land that `litres_day` [L/day] keeps through the crop's thirstiest month.

    Raises
    ------
    OutOfRange
        Less than no water.
    """
    if litres_day < 0:
        raise OutOfRange("water a day [L]", litres_day, 0, 1e6)
    peak = water_need(replace(case, area_m2=1.0), today).peak
    each = peak.gross_l_day
    return Land(case.crop.key, litres_day / each if each > 0 else None, each, peak.month)


@dataclass(frozen=True, slots=True)
class Short:
    """The two ways to live with too little water on a plot, by the harvest that each leaves.

    Attributes
    ----------
    whole_plot : float or None
        Harvest left when all of the plot shares the water [-]; None where the crop has no yield
        factor.
    part_of_plot : float
        Part of the plot that the water keeps in full, and so the harvest of that way [-].
    plant_less : bool
        Whether full water on less land is the better way.
    """

    whole_plot: float | None
    part_of_plot: float
    plant_less: bool


def short_of_water(case: Case, litres_day: float, today: datetime.date) -> Short | None:
    """What a supply below the peak leaves of the harvest; None when it is enough.

    A hardy crop may share the water. Less land is the better way where sharing loses more than the
    land that would be left fallow, where no yield factor is known, and where less than half of the
    need is there.
    """
    kept = land_kept(case, litres_day, today)
    if kept.area_m2 is None or kept.area_m2 >= case.area_m2:
        return None
    part = kept.area_m2 / case.area_m2
    whole = harvest_of_thirst(case, litres_day)
    return Short(whole, part, part < KY_HOLDS or whole is None or whole <= part)


def harvest_of_thirst(case: Case, litres_day: float) -> float | None:
    """Harvest left on a plot that gets at most `litres_day` [L/day] [-]; None without Ky.

    FAO-56 eq. 90 over mid-season, day by day (over the three thirstiest months of a crop that
    stands evergreen): a shortage comes at the peak, and the paper's season sum would thin it with
    the weeks before. FAO-33 gives each stage a Ky of its own (from memory); the season's stands in.
    """
    thirsty = [day for day in days_of_season(case, litres_day) if _at_peak(case, day.number)]
    used = sum(day.balance.evapotranspiration_mm for day in thirsty)
    return yield_share(used, sum(day.need_mm for day in thirsty), case.crop.ky)


def _at_peak(case: Case, number: int) -> bool:
    if case.crop.stages is not None:
        return kc_curve(case).stage(number) == "mid"
    eto = case.climate.eto_mm_day
    month = (case.planted + datetime.timedelta(days=number - 1)).month - 1
    peak = max(range(MONTHS), key=lambda place: eto[place])
    return (month - peak + 1) % MONTHS <= 2
