"""What the installer's sheet says, part by part, in the reader's language."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from service.drawing.paper import Labels
from service.phrases import N_, Month, Number, Phrase, Value, say, say_n
from service.sizing.card import PlotCard
from service.sizing.parts import part_note, parts_total
from service.sizing.parts_rules import not_to_buy, part_check, part_name
from service.sizing.result import Layout, PartLine, Plan, WateringMonth

KILOGRAMS_PER_LITRE = 1.0
STAGES = {
    "initial": say("young"),
    "development": say("growing"),
    "mid": say("full"),
    "late": say("ripening"),
    "none": say("bare"),
}
UNITS = {"m": say("m"), "piece": say("pcs"), "roll": say("roll")}


def about(value: float) -> Number:
    """A number in two figures, since no answer here is surer than that."""
    if value <= 0:
        return Number(0)
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return Number(round(value / step) * step, 0 if step >= 1 else 1)


def figure(number: Number) -> Phrase:
    """A number alone, in the digits of the language."""
    return Phrase("{n}", {"n": number})


def title(card: PlotCard) -> Phrase:
    """The sheet's first line when the caller has no better."""
    return say(
        "Drip plot of {length} m by {width} m",
        length=Number(card.plot.length_m, 2),
        width=Number(card.plot.width_m, 2),
    )


def subtitle(card: PlotCard, layout: Layout) -> Phrase:
    """What is laid, in one line."""
    values: dict[str, Value] = {
        "litres": Number(card.tank.volume_l),
        "height": Number(card.stand_height_m, 2),
        "n": layout.line_count,
        "length": Number(layout.line_length_m, 2),
        "spacing": Number(layout.line_spacing_m, 2),
    }
    return say_n(
        "Tank {litres} L on a stand of {height} m; {n} line of {length} m.",
        "Tank {litres} L on a stand of {height} m; {n} lines of {length} m, {spacing} m apart.",
        count="n",
        **values,
    )


def cautions(card: PlotCard) -> tuple[Phrase, ...]:
    """What can hurt somebody, before anything else."""
    kilograms = about(card.tank.volume_l * KILOGRAMS_PER_LITRE)
    return (
        say(
            "The full tank holds {kg} kg of water; its own weight comes on top. A builder makes "
            "and checks the stand, by the rules of the place, before it is filled.",
            kg=kilograms,
        ),
        say("Strap the tank: empty it blows off. Lock its lid. No child under it or on it."),
        say(
            "If the stand leans or sinks: everybody away. Open the valve only if you reach it from "
            "where the tank cannot fall on you."
        ),
        say("Not for drinking: never join these pipes to a drinking water pipe."),
    )


def facts(card: PlotCard, layout: Layout, parts: Sequence[PartLine]) -> Iterator[Phrase]:
    """What the installer must know that the picture does not tell."""
    yield _taps(layout)
    yield from _pipes(layout, parts)
    yield from _blocks(layout)
    yield say(
        "Drippers {spacing} m apart, {flow} L/h at {head} m; {n} on each line.",
        spacing=Number(card.dripline.emitter_spacing_m, 2),
        flow=Number(card.dripline.emitter_flow_lph, 2),
        head=Number(card.dripline.reference_head_m, 1),
        n=Number(layout.emitters_per_line),
    )
    yield from _slopes(card, layout)
    if layout.meets_goal:
        yield say("Evenness, tank full: about {eu} %; {goal} % is wanted.", **_evenness(layout))
    yield from _one_fill(layout)


def _taps(layout: Layout) -> Phrase:
    taps = layout.tap_positions_m
    values: dict[str, Value] = {
        "first": Number(taps[0], 2),
        "every": Number(layout.line_spacing_m, 2),
        "last": Number(taps[-1], 2),
    }
    if layout.tank_position == "mid_side":
        return say(
            "Taps from the tank: first at {first} m, then every {every} m, last at {last} m; "
            "two lines at each, one to either side.",
            **values,
        )
    return say(
        "Taps from the tank: first at {first} m, then every {every} m, last at {last} m.", **values
    )


def _pipes(layout: Layout, parts: Sequence[PartLine]) -> Iterator[Phrase]:
    names = [part_name(row.item) for row in parts if row.item.startswith("submain_pipe_")]
    if names:
        yield say(
            "Pipe: {pipes}, bore {bore} mm; {length} m to the last tap.",
            pipes=tuple(names),
            bore=Number(layout.submain_inner_diameter_mm, 1),
            length=Number(layout.submain_length_m, 2),
        )


def _blocks(layout: Layout) -> Iterator[Phrase]:
    if len(layout.block) < 2:
        return
    yield say("One block at a time is opened: each has its valve and its own pipe along its taps.")
    begin = layout.block[0].first_tap
    for number, block in enumerate(layout.block, start=1):
        yield say(
            "Block {n}: taps from {first} m to {last} m.",
            n=number,
            first=Number(layout.tap_positions_m[block.first_tap - begin], 2),
            last=Number(layout.tap_positions_m[block.last_tap - begin], 2),
        )


def _slopes(card: PlotCard, layout: Layout) -> Iterator[Phrase]:
    along_lines = layout.lines_run
    for side, slope, up, down in (
        (
            "length",
            card.plot.slope_length_pct,
            N_("The ground rises {n} % along the length, away from the tank."),
            N_("The ground falls {n} % along the length, away from the tank."),
        ),
        (
            "width",
            card.plot.slope_width_pct,
            N_("The ground rises {n} % along the width, away from the tank."),
            N_("The ground falls {n} % along the width, away from the tank."),
        ),
    ):
        if slope and layout.tank_position == "mid_side" and side == along_lines:
            yield say(
                "The ground slopes {n} % along the lines: up on one side of the main pipe, down "
                "on the other.",
                n=Number(abs(slope), 1),
            )
        elif slope:
            yield say(up if slope > 0 else down, n=Number(abs(slope), 1))


def alerts(layout: Layout) -> Iterator[Phrase]:
    """What speaks against laying this plan as it is."""
    dry = sum(block.full_tank.dry_emitters for block in layout.block)
    if dry:
        yield say_n(
            "{n} dripper lies above the water and gives nothing.",
            "{n} drippers lie above the water and give nothing.",
            count="n",
            n=dry,
        )
    if not layout.meets_goal:
        yield say(
            "NOT even enough: about {eu} % where {goal} % is wanted. Change the plan before "
            "anything is bought.",
            **_evenness(layout),
        )


def _evenness(layout: Layout) -> dict[str, Value]:
    # Cut down, so that a near miss never reads as a pass.
    return {
        "eu": Number(math.floor(layout.full_tank.emission_uniformity_pct + 1e-9)),
        "goal": Number(layout.goal_emission_uniformity_pct),
    }


def _one_fill(layout: Layout) -> Iterator[Phrase]:
    if layout.empty_minutes is not None:
        yield say(
            "A full tank gives about {litres} L in about {minutes} min.",
            litres=about(layout.delivered_litres),
            minutes=about(layout.empty_minutes),
        )


MONTHS_A_TABLE = 12


def months(plan: Plan, labels: Labels) -> Iterator[list[list[str]]]:
    """Yield tables of the schedule, a column a month, of the months in which something grows."""
    growing = [row for row in plan.watering if row.gross_l_day > 0 or row.stage != "none"]
    years = len(growing) > MONTHS_A_TABLE
    for start in range(0, len(growing), MONTHS_A_TABLE):
        yield _months(growing[start : start + MONTHS_A_TABLE], years, labels)


def _months(growing: Sequence[WateringMonth], years: bool, labels: Labels) -> list[list[str]]:
    litres = (labels(figure(about(row.gross_l_day))) for row in growing)
    fills = (labels(figure(Number(row.fills_per_day, 1))) for row in growing)
    return [
        ["", *(labels(_month(row, years)) for row in growing)],
        [labels(say("plants")), *(_stage(row, labels) for row in growing)],
        [labels(say("litres a day")), *litres],
        [labels(say("tank fills a day")), *fills],
        [labels(say("minutes a day")), *(_minutes(row, labels) for row in growing)],
    ]


def _month(row: WateringMonth, year: bool) -> Phrase:
    month = Month(row.month)
    if year:
        return Phrase("{month} {year}", {"month": month, "year": str(row.year)})
    return Phrase("{month}", {"month": month})


def watering_notes(plan: Plan) -> Iterator[Phrase]:
    """What to read with the schedule."""
    if plan.peak_month is not None:
        yield say("Most water: {month}.", month=Month(plan.peak_month))
    if len(plan.layouts[plan.recommended].block) > 1:
        yield say("Minutes are for all blocks together, opened one after the other.")
    yield say("Dig a finger deep before you water: still wet, skip a day.")


def _stage(row: WateringMonth, labels: Labels) -> str:
    known = STAGES.get(row.stage)
    return labels(known) if known is not None else row.stage


def _minutes(row: WateringMonth, labels: Labels) -> str:
    return "–" if row.minutes_per_day is None else labels(figure(about(row.minutes_per_day)))


def part_row(line: PartLine, labels: Labels) -> dict[str, str]:
    """One row of the parts list."""
    note = part_note(line)
    unit = UNITS.get(line.unit)
    return {
        "quantity": labels(figure(Number(line.quantity))),
        "unit": labels(unit) if unit is not None else line.unit,
        "name": labels(part_name(line.item)),
        "note": labels(note) if note is not None else "",
        "cost": labels(figure(Number(line.cost, 2))) if line.cost is not None else "",
    }


def total(parts: Sequence[PartLine], currency: str) -> Phrase | None:
    """The cost of all parts, or what has no price; nothing when no prices are loaded at all."""
    reckoned = parts_total(parts, None)
    if reckoned.total is not None:
        return say("Together: {cost} {currency}", cost=Number(reckoned.total, 2), currency=currency)
    if len(reckoned.missing) == len(parts):
        return None
    return say(
        "No total: no price for {parts}.",
        parts=tuple(part_name(item) for item in reckoned.missing),
    )


def shop_rows(
    card: PlotCard, layout: Layout, parts: Sequence[PartLine], labels: Labels
) -> list[dict[str, str]]:
    """What to look at in the shop, part by part."""
    line = card.dripline
    measured: dict[str, Value] = {
        "bore": Number(line.inner_diameter_mm, 1),
        "spacing": Number(line.emitter_spacing_m, 2),
        "flow": Number(line.emitter_flow_lph, 2),
        "head": Number(line.reference_head_m, 1),
    }
    bores = _submain_bores(card, layout, parts)
    return [
        {
            "name": labels(part_name(row.item)),
            "check": labels(
                part_check(row.item, **{**measured, "bore": bores.get(row.item, measured["bore"])})
            ),
        }
        for row in parts
    ]


def _submain_bores(card: PlotCard, layout: Layout, parts: Sequence[PartLine]) -> dict[str, Value]:
    """Return the bore [mm] of each pipe of the submain, the one at the tank first."""
    items = [row.item for row in parts if row.item.startswith("submain_pipe_")]
    bores = [layout.submain_inner_diameter_mm]
    if card.submain.second is not None:
        bores.append(card.submain.second.inner_diameter_mm)
    return {item: Number(bore, 1) for item, bore in zip(items, bores, strict=False)}


def avoid(labels: Labels) -> list[str]:
    """What not to buy."""
    return [labels(phrase) for phrase in not_to_buy()]
