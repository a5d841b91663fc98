"""Installing in words: this plot's own counts, marks and cuts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil

from service.advice import plan_words, rounding
from service.advice.upkeep_plot import PlotPipes
from service.phrases import N_, Number, Phrase, Value, say, say_n
from service.sizing.flushing import flush
from service.sizing.marks import marks
from service.units import MINUTES_PER_HOUR

STEPS: Mapping[str, str] = {
    "tools": N_("tools"),
    "stand": N_("the stand"),
    "tank": N_("the tank"),
    "valve": N_("valve and down pipe"),
    "filter": N_("the filter"),
    "try": N_("trial with water"),
    "main": N_("the main pipe"),
    "flush_main": N_("flushing the main pipe"),
    "marks": N_("marks on the main pipe"),
    "punch": N_("punching holes"),
    "seals": N_("seals and take-offs"),
    "rinse_main": N_("rinsing the main pipe"),
    "lines": N_("cutting the lines"),
    "slack": N_("laying the lines loose"),
    "connect": N_("connecting the lines"),
    "flush_lines": N_("flushing the lines"),
    "test": N_("the test"),
    "animals": N_("keeping animals out"),
    "spares": N_("spare parts"),
}
"""Steps by their state in the flow, in the order of the work."""
CUP_MINUTES = 6.0
"""How long a cup stands under a dripper [min]: common practice, no source."""
CENTIMETRES_PER_METRE = 100.0
MILLILITRES_PER_LITRE = 1000.0


def care(plot: PlotPipes) -> tuple[Phrase, ...]:
    """The caution before anything is built."""
    return (plan_words.stand_caution(plot.card),)


def stand(plot: PlotPipes) -> tuple[Phrase, ...]:
    """How high the plan wants the stand."""
    height = rounding.metres(plot.card.stand_height_m)
    return (say("Stand: {height} m to the foot of the tank.", height=height),)


def main_pipe(plot: PlotPipes) -> tuple[Phrase, ...]:
    """Main pipe and, where there are several, the valve of each block."""
    found = marks(plot.layout)
    values: dict[str, Value] = {
        "metres": rounding.metres(found.taps_m[-1]),
        "size": Number(plot.laying.pipe),
    }
    if found.holes_each == 2:
        first = say("Main pipe down the middle of the plot: {metres} m of {size} mm.", **values)
    else:
        first = say("Main pipe along the edge of the plot: {metres} m of {size} mm.", **values)
    if len(found.blocks) == 1:
        return (first,)
    valves = tuple(
        say(
            "Block {n}: valve at {first} m, its own pipe on to {last} m.",
            n=number,
            first=Number(block.first_m, 2),
            last=Number(block.last_m, 2),
        )
        for number, block in enumerate(found.blocks, start=1)
    )
    return (first, *valves)


def mark_summary(plot: PlotPipes) -> tuple[Phrase, ...]:
    """Marks for the holes, in short."""
    found = marks(plot.layout)
    values: dict[str, Value] = {
        "n": len(found.taps_m),
        "first": Number(found.taps_m[0], 2),
        "every": Number(found.spacing_m, 2),
        "last": Number(found.taps_m[-1], 2),
    }
    if found.holes_each == 2:
        both = say_n(
            "One mark, {first} m from the tank, a hole to either side.",
            "{n} marks, a hole to either side: first {first} m from the tank, every {every} m, "
            "last {last} m.",
            count="n",
            **values,
        )
        return (both,)
    one = say_n(
        "One mark, {first} m from the tank.",
        "{n} marks, from the tank: first {first} m, then every {every} m, last {last} m.",
        count="n",
        **values,
    )
    return (one,)


def all_marks(plot: PlotPipes) -> tuple[Phrase, ...]:
    """Every mark, to be kept as one text."""
    listed = tuple(say("{n}", n=Number(mark, 2)) for mark in marks(plot.layout).taps_m)
    # Translators: a list of metres follows, each counted from the tank.
    return (say("Marks from the tank, in m: {marks}.", marks=listed),)


def seals(plot: PlotPipes) -> tuple[Phrase, ...]:
    """How many take-offs."""
    count = marks(plot.layout).hole_count
    return (say_n("{n} seal and take-off.", "{n} seals and take-offs.", count="n", n=count),)


def lines(plot: PlotPipes) -> tuple[Phrase, ...]:
    """How many lines, and how long each is cut."""
    found = marks(plot.layout)
    return (
        say_n(
            "Cut {n} line of {cut} m: {length} m on the ground.",
            "Cut {n} lines of {cut} m: {length} m on the ground.",
            count="n",
            n=found.line_count,
            cut=Number(found.cut_m, 2),
            length=Number(found.line_m, 2),
        ),
    )


def slack(plot: PlotPipes) -> tuple[Phrase, ...]:
    """How much a line must be loose, and why."""
    shrink = marks(plot.layout).shrink_m
    return (
        say(
            "Leave lines loose, like a snake: from noon to night one shortens by about {cm} cm, "
            "and pulls off if tight.",
            cm=Number(max(5, 5 * ceil(CENTIMETRES_PER_METRE * shrink / 5 - 1e-9))),
        ),
    )


def flush_lines(plot: PlotPipes) -> tuple[Phrase, ...]:
    """The first flush, before the line ends are closed."""
    found = flush(plot.one)
    blocks = (say("One block at a time."),) if len(plot.one.blocks) > 1 else ()
    if found.line.whole_minutes is None:
        return (say("No water reaches the far line ends: look for a kink, or ask the helpline."),)
    return (
        say_n(
            "Tank full, valve open. From the tank on, let each line run {n} minute or until clear, "
            "then close its end.",
            "Tank full, valve open. From the tank on, let each line run {n} minutes or until "
            "clear, then close its end.",
            count="n",
            n=found.line.whole_minutes,
        ),
        *blocks,
    )


def two_cups(plot: PlotPipes) -> tuple[Phrase, ...]:
    """What two cups should show with the tank full."""
    flows = plot.one.emitter_flows()
    return (
        say(
            "A cup for {minutes} min, tank full: first dripper about {first} mL, last of all about "
            "{last} mL.",
            minutes=Number(CUP_MINUTES),
            first=_millilitres(flows[0][0]),
            last=_millilitres(flows[-1][-1]),
        ),
    )


def _millilitres(litres_per_hour: float) -> Number:
    value = litres_per_hour * MILLILITRES_PER_LITRE * CUP_MINUTES / MINUTES_PER_HOUR
    return Number(rounding.two_figures(value))


def no_plot() -> Sequence[Phrase]:
    """Said where a step needs the plot's own numbers and none is known."""
    return (say("Your plot is not known here: the numbers come after you plan it."),)
