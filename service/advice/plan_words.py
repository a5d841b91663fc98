"""A plan in the words of the plan conversation: short sentences, cautions first, "about" said.

Each function gives the sentences of one screen. Sentences stand whole in the code, because the
English sentence is the key of the catalogue.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from service.advice import rounding
from service.advice.warning_words import drippers_dry
from service.errors import CardError
from service.phrases import Month, Number, Phrase, Value, say, say_n
from service.sizing.card import PlotCard
from service.sizing.parts import parts_total
from service.sizing.parts_rules import part_name
from service.sizing.prices import PriceList
from service.sizing.result import (
    FullTank,
    Layout,
    PartLine,
    Plan,
    Remedy,
    SupplyCheck,
    WateringMonth,
)
from service.units import BUCKET_L

KILOGRAMS_PER_LITRE = 1.0
KILOGRAMS_PER_TONNE = 1000.0


def tank_tonnes(card: PlotCard) -> Number:
    """Weight of the water in a full tank [t], to one decimal below ten; never less than it is."""
    tonnes = card.tank.volume_l * KILOGRAMS_PER_LITRE / KILOGRAMS_PER_TONNE
    steps = 10 if tonnes < 10 else 1
    # What is a hair above a step is one of the arithmetic, not of the tank.
    return Number(math.ceil(tonnes * steps - 1e-6) / steps, 1)


def stand_caution(card: PlotCard) -> Phrase:
    """The caution that stands before every plan."""
    return say(
        "Full tank: {tonnes} t. A builder must make and check the stand; no children under it.",
        tonnes=tank_tonnes(card),
    )


def stand_cautions() -> tuple[Phrase, ...]:
    """Everything about tank and stand that can hurt somebody, for who asks without a plan."""
    return (
        say(
            "1000 L of water weighs 1 ton. A builder must make and check the stand, by the rules "
            "of your place, before the tank is filled."
        ),
        say("Strap the tank, lock its lid, and let no child play under it or climb on it."),
        say("Tie the ladder. Do not climb with a full bucket: lift it by rope or pump."),
        say("Drip water is not for drinking. Never join it to a drinking water pipe."),
        say(
            "If the stand leans or sinks: everybody away. Open the valve only if you reach it from "
            "where the tank cannot fall on you."
        ),
    )


def water_needed(plan: Plan) -> tuple[Phrase, ...]:
    """Water first: litres and buckets a day, now and at the peak, and whether it can be brought."""
    supply = plan.supply
    if supply is None:
        return ()
    if supply.peak_l_day <= 0:
        return (say("Rain is enough through this season, in a usual year."),)
    sentences = [_needed(plan, supply)]
    if supply.given_l_day is not None and not supply.enough:
        sentences.append(
            say(
                "You can bring {given} L: enough for about {area} m2 at the peak. Plant less.",
                given=rounding.litres(supply.given_l_day),
                area=rounding.litres(supply.keeps_area_m2 or 0.0),
            )
        )
    return tuple(sentences)


def _needed(plan: Plan, supply: SupplyCheck) -> Phrase:
    row = peak_row(plan)
    litres = rounding.litres(supply.needed_l_day)
    buckets = rounding.buckets(supply.needed_l_day, BUCKET_L)
    if row is None or supply.needed_l_day >= row.gross_l_day:
        return say(
            "Water: about {litres} L a day now ({buckets} buckets). This is the peak.",
            litres=litres,
            buckets=buckets,
        )
    return say(
        "Water: about {litres} L a day now ({buckets} buckets), {peak} L at the peak ({month}).",
        litres=litres,
        buckets=buckets,
        peak=rounding.litres(row.gross_l_day),
        month=Month(row.month),
    )


def lay(layout: Layout, pipe_name: str) -> tuple[Phrase, ...]:
    """What to lay, and where the tank stands."""
    values: dict[str, Value] = {
        "count": layout.line_count,
        "length": rounding.metres(layout.line_length_m),
        "spacing": rounding.metres(layout.line_spacing_m),
    }
    lines = (
        say("{count} lines of {length} m along the length, {spacing} m apart.", **values)
        if layout.lines_run == "length"
        else say("{count} lines of {length} m along the width, {spacing} m apart.", **values)
    )
    where: dict[str, Value] = {
        "pipe": pipe_name,
        "metres": rounding.metres(layout.submain_length_m),
    }
    tank = (
        say("Tank at a corner, {pipe} main pipe, {metres} m.", **where)
        if layout.tank_position == "corner"
        else say("Tank at the middle of a side, {pipe} main pipe down the middle.", **where)
    )
    return (lines, tank)


def blocks_opened(blocks: int) -> tuple[Phrase, ...]:
    """How the valves are opened, when there is more than one block."""
    if blocks < 2:
        return ()
    return (
        say_n(
            "{n} valve: open it.",
            "{n} blocks, a valve each: open one at a time.",
            count="n",
            n=blocks,
        ),
    )


STARVES_BELOW_PCT = 60.0
"""Share at which a crop at the far end visibly suffers: our choice of word, no source."""


def weakest_share_pct(full: FullTank) -> float:
    """Flow of the weakest dripper over that of the strongest, tank full [%].

    What two cups show, one at the first dripper and one at the last.
    """
    return 100.0 - full.flow_variation_pct


def far_end(plan: Plan) -> Phrase:
    """Whether the last drippers get their share, and with how many valves."""
    layout = plan.layouts[plan.recommended]
    percent = weakest_share_pct(layout.full_tank)
    share = rounding.per_cent(percent)
    if layout.full_tank.dry_emitters:
        return drippers_dry(layout.full_tank.dry_emitters)
    if not layout.meets_goal and percent < STARVES_BELOW_PCT:
        return say("Far end starves: weakest dripper only {share}% of the strongest.", share=share)
    if not layout.meets_goal:
        return say(
            "Far end gets too little: weakest dripper {share}% of the strongest.", share=share
        )
    if plan.one_valve is not None:
        return say(
            "With one valve the far end gets too little: weakest dripper {alone}% of the "
            "strongest. In {blocks} blocks, a valve each, opened in turn: {share}%.",
            alone=rounding.per_cent(weakest_share_pct(plan.one_valve)),
            blocks=layout.blocks,
            share=share,
        )
    return say("Far end gets its share: weakest dripper {share}% of the strongest.", share=share)


def unsure(plan: Plan) -> tuple[Phrase, ...]:
    """Say so when the verdict would change in the bad case of what was taken as usual."""
    if any(warning.code == "verdict_hangs_on_assumed" for warning in plan.warnings):
        return (say("Not sure: it hangs on what was taken as usual. Measure, or answer more."),)
    return ()


def _remedy(remedy: Remedy, pipe_name: str) -> Phrase:
    share = rounding.per_cent(100.0 - remedy.flow_variation_pct)
    if remedy.change == "wider_submain":
        return say("main pipe {pipe}: {share}%", pipe=pipe_name, share=share)
    if remedy.how == "fed_from_middle":
        return say("main pipe down the middle: {share}%", share=share)
    if remedy.change == "shorter_lines":
        return say(
            "lines of {length} m: {share}%", length=rounding.metres(remedy.value), share=share
        )
    if remedy.change == "more_blocks":
        return say(
            "{blocks} blocks, one valve each: {share}%", blocks=int(remedy.value), share=share
        )
    return say("stand of {height} m: {share}%", height=rounding.metres(remedy.value), share=share)


def what_helps(card: PlotCard, plan: Plan, pipe_name_of: Mapping[float, str]) -> tuple[Phrase, ...]:
    """Changes that help, by their computed effect; a higher stand last, with the builder."""
    layout = plan.layouts[plan.recommended]
    ranked = sorted(plan.remedies, key=lambda remedy: round(remedy.flow_variation_pct))

    def worded(remedy: Remedy) -> Phrase:
        return _remedy(remedy, pipe_name_of.get(remedy.value, f"{remedy.value:g} mm"))

    first = [worded(remedy) for remedy in ranked if remedy.change != "higher_stand"]
    stands = [worded(remedy) for remedy in ranked if remedy.change == "higher_stand"]
    sentences = [
        say(
            "Weakest dripper now {share}% of the strongest.",
            share=rounding.per_cent(weakest_share_pct(plan.one_valve or layout.full_tank)),
        )
    ]
    if first:
        sentences.append(say("Best help first: {changes}.", changes=tuple(first)))
    if stands:
        sentences.append(
            say(
                "Last, only if a builder makes and checks it for {tonnes} t of water: {changes}.",
                tonnes=tank_tonnes(card),
                changes=tuple(stands),
            )
        )
    if not first and not stands:
        sentences.append(say("No change we know mends it here. Ask the helpline."))
    return tuple(sentences)


def open_valve(plan: Plan) -> tuple[Phrase, ...]:
    """Minutes and fills, now and at the peak."""
    layout = plan.layouts[plan.recommended]
    if layout.empty_minutes is None:
        return (say("The water stops before the tank is empty. Ask the helpline."),)
    sentences = [_now(plan.now), _peak(plan)]
    runs = rounding.minutes(layout.empty_minutes)
    sentences.append(say("Full tank: {minutes} min.", minutes=runs))
    sentences.append(say("Finger deep still wet: skip a day."))
    return tuple(sentence for sentence in sentences if sentence is not None)


def _now(row: WateringMonth | None) -> Phrase | None:
    if row is None or row.minutes_per_day is None:
        return None
    if row.stage == "none":
        return say("The crop is over: no water now.")
    if row.minutes_per_day <= 0:
        return say("Now rain is enough.")
    return say(
        "Valve open now about {minutes} min a day: {fills} x the tank.",
        minutes=rounding.minutes(row.minutes_per_day),
        fills=rounding.fills(row.fills_per_day),
    )


def _peak(plan: Plan) -> Phrase | None:
    row = peak_row(plan)
    if row is None or row.minutes_per_day is None or _now_is_peak(plan, row):
        return None
    return say(
        "Peak ({month}) {minutes} min: {fills} x.",
        month=Month(row.month),
        minutes=rounding.minutes(row.minutes_per_day),
        fills=rounding.fills(row.fills_per_day),
    )


def peak_row(plan: Plan) -> WateringMonth | None:
    """Return the month in which the crop needs most."""
    return max(plan.watering, key=lambda row: row.gross_l_day, default=None)


def _now_is_peak(plan: Plan, row: WateringMonth) -> bool:
    return plan.now is not None and plan.now.gross_l_day >= row.gross_l_day


def months(plan: Plan) -> tuple[Phrase, ...]:
    """One line a month: litres, fills and minutes a day."""
    return tuple(_month(row) for row in plan.watering)


def _month(row: WateringMonth) -> Phrase:
    if row.gross_l_day <= 0:
        return say("{month}: rain is enough", month=Month(row.month))
    return say(
        "{month}: {litres} L a day, {fills} x the tank, {minutes} min",
        month=Month(row.month),
        litres=rounding.litres(row.gross_l_day),
        fills=rounding.fills(row.fills_per_day),
        minutes=rounding.minutes(row.minutes_per_day or 0.0),
    )


def in_short(card: PlotCard, plan: Plan, pipe_name: str) -> tuple[Phrase, ...]:
    """The whole plan in one text message, the caution about the stand first."""
    layout, supply = plan.layouts[plan.recommended], plan.supply
    short = supply is not None and supply.enough is False
    return (
        say("Tank {tonnes} t: a builder checks the stand.", tonnes=tank_tonnes(card)),
        say(
            "{count} lines {length} m, pipe {pipe}.",
            count=layout.line_count,
            length=rounding.metres(layout.line_length_m),
            pipe=pipe_name,
        ),
        *blocks_opened(layout.blocks),
        say(
            "Weakest dripper {share}%.",
            share=rounding.per_cent(weakest_share_pct(layout.full_tank)),
        ),
        *(() if plan.now is None else _short_now(plan.now)),
        *_short_peak(plan),
        *(
            (say("Your water keeps {area} m2.", area=rounding.litres(supply.keeps_area_m2 or 0.0)),)
            if supply is not None and short
            else ()
        ),
    )


def _short_now(row: WateringMonth) -> tuple[Phrase, ...]:
    if row.minutes_per_day is None or row.minutes_per_day <= 0:
        return ()
    return (
        say(
            "Now {minutes} min a day, {fills} x the tank.",
            minutes=rounding.minutes(row.minutes_per_day),
            fills=rounding.fills(row.fills_per_day),
        ),
    )


def _short_peak(plan: Plan) -> tuple[Phrase, ...]:
    row = peak_row(plan)
    if row is None or row.minutes_per_day is None or _now_is_peak(plan, row):
        return ()
    return (
        say(
            "{month} {minutes} min, {fills} x.",
            month=Month(row.month),
            minutes=rounding.minutes(row.minutes_per_day),
            fills=rounding.fills(row.fills_per_day),
        ),
    )


def parts(plan: Plan, prices: PriceList | None) -> tuple[Phrase, ...]:
    """The parts list, one line a part, and what it costs when every price is known."""
    rows = [_part(part) for part in plan.parts]
    total = parts_total(plan.parts, prices)
    if total.total is not None and prices is not None:
        cost = say(
            "Together about {cost} {currency}.",
            cost=rounding.litres(total.total),
            currency=total.currency,
        )
        return (*rows, cost)
    return tuple(rows)


def _part(part: PartLine) -> Phrase:
    quantity, name = Number(part.quantity, 1), part_name(part.item)
    if part.unit == "m":
        return say("{metres} m of {part}", metres=quantity, part=name)
    return say("{quantity} x {part}", quantity=quantity, part=name)


def cannot_plan(fault: CardError) -> tuple[Phrase, ...]:
    """Why the answers make no plot, and what to do."""
    if any(problem.field.startswith("plot.") for problem in fault.problems):
        return (say("The plot is too small for a drip line. Go back and send its size again."),)
    return (say("These answers make no plot. Go back and check them, or ask the helpline."),)
