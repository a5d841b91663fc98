"""A plan as a readable table in English, for the command line."""

from __future__ import annotations

from calendar import month_abbr
from collections.abc import Iterable, Sequence

from service.advice.warning_words import warning_phrases
from service.sizing.plain import plain_english
from service.sizing.result import Layout, Plan, PlanWarning

MARK, NO_MARK = "*", " "


def plan_table(plan: Plan) -> str:
    """Return the plan as lines of text, the caution first."""
    blocks = [
        ["Have a builder make and check the stand before the tank is filled: 1000 L weigh a ton."],
        _layouts(plan),
        [plan.why] if plan.why else [],
        _remedies(plan),
        _watering(plan),
        _supply(plan),
        _parts(plan),
        _warnings(plan.warnings),
        _assumed(plan),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _columns(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    return [
        "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]


def _layouts(plan: Plan) -> list[str]:
    head = ("", "tank", "lines along", "lines", "m each", "bore mm", "blocks",
            "L/h", "weakest L/h", "EU %", "varies %", "empty min")  # fmt: skip
    rows = [head, *(_layout(place, layout, plan) for place, layout in enumerate(plan.layouts))]
    return ["Layouts (* recommended; flows with the tank full, worst block)", *_columns(rows)]


def _layout(place: int, layout: Layout, plan: Plan) -> tuple[str, ...]:
    full = layout.full_tank
    return (
        MARK if place == plan.recommended else NO_MARK,
        layout.tank_position.replace("_", " "),
        layout.lines_run,
        str(layout.line_count),
        f"{layout.line_length_m:g}",
        f"{layout.submain_inner_diameter_mm:g}",
        str(layout.blocks),
        f"{full.total_flow_lph:.0f}",
        f"{full.min_flow_lph:.3f}",
        f"{full.emission_uniformity_pct:.1f}",
        f"{full.flow_variation_pct:.1f}",
        "never" if layout.empty_minutes is None else f"{layout.empty_minutes:.0f}",
    )


def _remedies(plan: Plan) -> list[str]:
    if not plan.remedies:
        return []
    rows: list[tuple[str, ...]] = [("change", "to", "EU %", "varies %", "weakest L/h", "enough")]
    rows += [
        (
            remedy.change.replace("_", " "),
            f"{remedy.value:g}",
            f"{remedy.emission_uniformity_pct:.1f}",
            f"{remedy.flow_variation_pct:.1f}",
            f"{remedy.min_flow_lph:.3f}",
            "yes" if remedy.meets_goal else "no",
        )
        for remedy in plan.remedies
    ]
    return ["What would help (a higher stand last, and only by a builder)", *_columns(rows)]


def _watering(plan: Plan) -> list[str]:
    if not plan.watering:
        return []
    rows: list[tuple[str, ...]] = [
        ("month", "stage", "ETo mm", "Kc", "rain mm", "net mm", "L/day", "fills", "min/day")
    ]
    rows += [
        (
            month_abbr[row.month],
            row.stage,
            f"{row.eto_mm_day:.1f}",
            f"{row.kc:.2f}",
            f"{row.rain_mm_day:.1f}",
            f"{row.net_mm_day:.1f}",
            f"{row.gross_l_day:.0f}",
            f"{row.fills_per_day:.1f}",
            "-" if row.minutes_per_day is None else f"{row.minutes_per_day:.0f}",
        )
        for row in plan.watering
    ]
    return ["Water by month (about)", *_columns(rows)]


def _supply(plan: Plan) -> list[str]:
    supply = plan.supply
    if supply is None:
        return []
    lines = [
        f"Water needed now {supply.needed_l_day:.0f} L a day, at the peak {supply.peak_l_day:.0f} L"
        f" ({supply.buckets_peak_day:.0f} buckets of 20 L)."
    ]
    if supply.given_l_day is not None:
        enough = "enough" if supply.enough else "not enough"
        lines.append(f"Water that can be brought {supply.given_l_day:.0f} L a day: {enough}.")
    if supply.keeps_area_m2 is not None and supply.enough is False:
        lines.append(f"It keeps about {supply.keeps_area_m2:.0f} m2 through the peak.")
    return lines


def _parts(plan: Plan) -> list[str]:
    if not plan.parts:
        return []
    return [
        "Parts",
        *(
            f"{part.quantity:7g} {part.unit:5} {part.name}"
            + (f" ({part.note})" if part.note else "")
            for part in plan.parts
        ),
    ]


def _warnings(warnings: Iterable[PlanWarning]) -> list[str]:
    lines = [f"- {plain_english(phrase)}" for phrase in warning_phrases(warnings)]
    return ["Warnings", *lines] if lines else []


def _assumed(plan: Plan) -> list[str]:
    taken = ", ".join(f"{item.field} {item.value}" for item in plan.assumed)
    return [f"Taken as usual: {taken}"] if taken else []
