"""The water rows of a plan: of the whole plot, and of each crop where it carries several."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.sizing.cases import Planting, added_up
from service.sizing.result import CropWater, Layout, PlanWarning, WateringMonth
from service.sizing.watering import MinutesForLitres, Need, WaterNeed, watering_month

UNEQUAL = 1.25
"""Crops on one valve whose minutes differ by more than this are told apart [-]: our choice."""


@dataclass(frozen=True)
class WaterRows:
    """Water rows of a plan: of the whole plot, and of each crop where there are several."""

    plantings: tuple[Planting, ...]
    needs: tuple[WaterNeed, ...]
    layout: Layout
    minutes_for_litres: MinutesForLitres

    @property
    def whole(self) -> WaterNeed:
        """The need of all crops together."""
        return added_up(self.needs)

    def months(self) -> tuple[WateringMonth, ...]:
        """Return the rows of the whole plot, one a month."""
        return tuple(map(self._month, self.whole.months))

    def now(self) -> WateringMonth:
        """Return the row of today, or of the planting days still to come."""
        return self._together(self.whole.now, [need.now for need in self.needs])

    def _month(self, need: Need) -> WateringMonth:
        own = [
            next((month for month in each.months if _when(month) == _when(need)), None)
            for each in self.needs
        ]
        return self._together(need, own)

    def _together(self, need: Need, own: Sequence[Need | None]) -> WateringMonth:
        """Return the row of a need of all crops.

        With several the valve stays open for the thirstiest; the taps of the others are shut when
        theirs have had enough.
        """
        row = watering_month(need, self.layout.delivered_litres, self.minutes_for_litres)
        if len(self.needs) == 1:
            return row
        minutes = [
            self._row(each, crop.share).minutes_per_day
            for each, crop in zip(own, self.plantings, strict=True)
            if each is not None
        ]
        known = [value for value in minutes if value is not None]
        longest = max(known) if len(known) == len(minutes) else None
        return row.model_copy(update={"minutes_per_day": longest})

    def _row(self, need: Need, share: float) -> WateringMonth:
        """Return one crop's row; its minutes hold while all lines run, for each gets its share."""

        def minutes(litres: float) -> float | None:
            return self.minutes_for_litres(litres / share)

        return watering_month(need, self.layout.delivered_litres, minutes)

    def crops(self) -> tuple[CropWater, ...]:
        """Return the rows of each crop; none where there is but one, whose rows are the plan's."""
        if len(self.needs) == 1:
            return ()
        return tuple(
            CropWater(
                crop=crop.crop.key,
                lines=crop.lines or 0,
                area_m2=need.case.area_m2,
                planting_date=crop.planted.isoformat(),
                peak_month=need.peak.month,
                now=self._row(need.now, crop.share),
                watering=tuple(self._row(month, crop.share) for month in need.months),
            )
            for crop, need in zip(self.plantings, self.needs, strict=True)
        )

    def warnings(self) -> Iterator[PlanWarning]:
        """Yield what several crops on one valve ask for."""
        crops = self.crops()
        if not crops:
            return
        lines = sum(crop.lines for crop in crops)
        if lines != self.layout.line_count:
            yield PlanWarning(
                code="crop_lines_differ", lines_given=lines, line_count=self.layout.line_count
            )
        unequal = max(_month_minutes(crops), key=_ratio, default={})
        if _ratio(unequal) > UNEQUAL:
            yield PlanWarning.model_validate({"code": "crops_differ", "minutes": unequal})


def _when(need: Need) -> tuple[int, int]:
    return need.day.year, need.day.month


def _names(crops: Sequence[CropWater]) -> list[str]:
    """Name each crop, with its day of planting where one stands twice."""
    names = [crop.crop for crop in crops]
    return [
        name if names.count(name) == 1 else f"{name} of {crop.planting_date}"
        for name, crop in zip(names, crops, strict=True)
    ]


def _month_minutes(crops: Sequence[CropWater]) -> Iterator[dict[str, float]]:
    """Yield the minutes of each crop, month by month."""
    names = _names(crops)
    months = sorted({(row.year, row.month) for crop in crops for row in crop.watering})
    for when in months:
        yield {
            name: row.minutes_per_day
            for name, crop in zip(names, crops, strict=True)
            for row in crop.watering
            if (row.year, row.month) == when and row.minutes_per_day
        }


def _ratio(minutes: Mapping[str, float]) -> float:
    return max(minutes.values()) / min(minutes.values()) if minutes else 1.0
