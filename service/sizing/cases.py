"""Which crop stands on which lines of a plot, and the case that its water depends on.

A plot usually carries one crop. Where it carries several, each has so many of the lines and the
same share of the ground; one valve serves them all.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from service.sizing.card import PlotCard
from service.sizing.climate import Climate, card_climate, unknown_climate
from service.sizing.crops import Crop
from service.sizing.result import PlanWarning
from service.sizing.soils import USUAL_SOIL, Soil
from service.sizing.tables import Tables
from service.sizing.watering import Case, Need, WaterNeed, planting_day


@dataclass(frozen=True, slots=True)
class Planting:
    """One crop on its part of the plot.

    Attributes
    ----------
    lines : int or None
        Driplines that serve it; None when it has them all.
    share : float
        Its part of the lines and of the ground [-].
    assumed : bool
        Whether the day of planting was not given.
    """

    crop: Crop
    lines: int | None
    share: float
    planted: datetime.date
    assumed: bool


def plantings(card: PlotCard, tables: Tables, today: datetime.date) -> tuple[Planting, ...]:
    """The crops of a card in its order; none when it names none.

    Raises
    ------
    CardError
        A crop that the tables do not have.
    """
    if card.crop is not None:
        planted, assumed = planting_day(card.planting_date, None, today)
        return (Planting(tables.crop(card.crop), None, 1.0, planted, assumed),)
    total = sum(entry.lines for entry in card.crops)
    found = []
    for place, entry in enumerate(card.crops):
        given = entry.planting_date or card.planting_date
        planted, assumed = planting_day(given, None, today)
        crop = tables.crop(entry.crop, f"crops.{place}.crop")
        found.append(Planting(crop, entry.lines, entry.lines / total, planted, assumed))
    return tuple(found)


def plot_climate(card: PlotCard, tables: Tables) -> Climate:
    """Climate of the card, of its district, or of a hot dry place when nothing is known.

    Raises
    ------
    CardError
        A district that is not loaded.
    """
    if card.climate is not None:
        return card_climate(card.climate.eto_mm_day, card.climate.rain_mm_day)
    if card.district is not None:
        return tables.district(card.district).climate
    return unknown_climate()


def plot_soil(card: PlotCard, tables: Tables) -> Soil:
    """The soil of the card, or the usual one; CardError for one that the table does not have."""
    return tables.soil(card.soil or USUAL_SOIL)


def case_of(card: PlotCard, tables: Tables, planting: Planting, emission_uniformity: float) -> Case:
    """What the water of one crop of a plot depends on, for an evenness of watering [-]."""
    return Case(
        crop=planting.crop,
        soil=plot_soil(card, tables),
        climate=plot_climate(card, tables),
        area_m2=card.plot.length_m * card.plot.width_m * planting.share,
        emission_uniformity=emission_uniformity,
        planted=planting.planted,
        water_ec_ds_m=card.water_ec_ds_m or 0.0,
    )


def added_up(needs: Sequence[WaterNeed]) -> WaterNeed:
    """Need of a whole plot from the needs of its crops: litres add up, depths are its means.

    A month has the rows of all crops that grow in it, each on its growing days; its stage is that
    of the crop that takes most water.
    """
    if len(needs) == 1:
        return needs[0]
    area = sum(need.case.area_m2 for need in needs)
    rows = [(month, need.case.area_m2) for need in needs for month in need.months]
    rows.sort(key=lambda row: (row[0].day.year, row[0].day.month))
    months = tuple(
        _together(list(group), area)
        for _, group in groupby(rows, key=lambda row: (row[0].day.year, row[0].day.month))
    )
    return WaterNeed(
        case=replace(needs[0].case, area_m2=area),
        months=months,
        now=_together([(need.now, need.case.area_m2) for need in needs], area),
        peak=max(months, key=lambda need: round(need.gross_l_day, 6)),
        leaching=max(need.leaching for need in needs),
        warnings=_each_once(needs),
    )


def _together(rows: Sequence[tuple[Need, float]], area_m2: float) -> Need:
    thirstiest = max(rows, key=lambda row: row[0].gross_l_day)[0]

    def mean(name: str) -> float:
        return sum(float(getattr(need, name)) * part for need, part in rows) / area_m2

    return replace(
        thirstiest,
        kc=mean("kc"),
        rain_mm_day=mean("rain_mm_day"),
        net_mm_day=mean("net_mm_day"),
        gross_l_day=sum(need.gross_l_day for need, _ in rows),
        growing_days=max(need.growing_days for need, _ in rows),
    )


def _each_once(needs: Sequence[WaterNeed]) -> tuple[PlanWarning, ...]:
    found = [warning for need in needs for warning in need.warnings]
    return tuple({warning.model_dump_json(): warning for warning in found}.values())
