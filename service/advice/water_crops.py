"""Each crop of a plan that has several, as readable tables in English."""

from __future__ import annotations

from calendar import month_abbr
from collections.abc import Sequence

from service.sizing.result import CropWater, Plan, WateringMonth

HEAD = ("month", "stage", "L/day", "fills", "min/day")


def crop_tables(plan: Plan) -> list[str]:
    """Return a table a crop; none for a plan of one crop, whose months stand in the plan's own."""
    return [_table(crop) for crop in plan.crops]


def _table(crop: CropWater) -> str:
    title = (
        f"{crop.crop.replace('_', ' ').capitalize()}: {crop.lines} lines, {crop.area_m2:.0f} m2, "
        f"planted {crop.planting_date} "
        "(minutes while all lines run; then shut the taps of its lines)"
    )
    rows = [HEAD, *map(_row, crop.watering)]
    widths = [max(len(row[place]) for row in rows) for place in range(len(HEAD))]
    return "\n".join([title, *(_line(row, widths) for row in rows)])


def _row(row: WateringMonth) -> tuple[str, ...]:
    return (
        month_abbr[row.month],
        row.stage,
        f"{row.gross_l_day:.0f}",
        f"{row.fills_per_day:.1f}",
        "-" if row.minutes_per_day is None else f"{row.minutes_per_day:.0f}",
    )


def _line(row: Sequence[str], widths: Sequence[int]) -> str:
    return "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
