"""What to buy after something broke, in the sizes of the plot, and how it is mended."""

from __future__ import annotations

from collections.abc import Sequence
from typing import get_args

from service.advice.answers import Answers
from service.advice.context import Context
from service.advice.upkeep_plot import PlotPipes, known_plot
from service.phrases import Phrase, say
from service.sizing.parts_rules import part_name
from service.sizing.upkeep import Repair, repair_items


def repair_of(answers: Answers) -> Repair:
    """Return what broke; a cut line when the answer is none of the list."""
    said = answers.get("repair")
    return next((what for what in get_args(Repair) if what == said), "cut")


def parts_in_words(plot: PlotPipes | None, what: Repair) -> tuple[Phrase, ...]:
    """The parts with their sizes, or how to find the size in a shop."""
    if plot is None:
        return (_unsized(what), _take_along())
    bought = tuple(
        say("{quantity} x {part}", quantity=count, part=part_name(item))
        for item, count in repair_items(plot.laying, what)
    )
    return (say("Buy: {parts}.", parts=bought), *_further(what), _take_along())


def _unsized(what: Repair) -> Phrase:
    names: dict[Repair, Phrase] = {
        "cut": say("Buy a joiner for your line."),
        "piece": say("Buy two joiners for your line."),
        "end": say("Buy a line end for your line."),
        "tap": say("Buy a take-off with its seal."),
        "main": say("Buy a joiner for your main pipe."),
        "filter": say("Buy a filter screen, or a filter, of 120 mesh."),
        "valve": say("Buy a full-bore ball valve of plastic, and thread tape."),
        "hole": say("Buy a plug made for the hole of your punch."),
    }
    return names[what]


def _further(what: Repair) -> tuple[Phrase, ...]:
    if what == "piece":
        return (say("Cut it from left-over line."),)
    if what == "filter":
        return (say("Only the screen torn? Buy the screen alone, 120 mesh."),)
    return ()


def _take_along() -> Phrase:
    return say("Take the broken part to the shop.")


def how_in_words(what: Repair) -> tuple[Phrase, ...]:
    """How it is mended, and what to flush afterwards."""
    line = say(
        "Valve shut. Cut both ends square, push both hard onto the joiner. No dripper within a "
        "hand of it. Tug test."
    )
    flush = say("Then flush from there to the line's end.")
    ways: dict[Repair, tuple[Phrase, ...]] = {
        "cut": (line, flush),
        "piece": (
            say("Valve shut. New piece in, a joiner at each end, drippers upward. Tug test."),
            flush,
        ),
        "end": (say("Let the line run clear first, then put the new end on and close it."),),
        "tap": (
            say("Valve shut. Old seal out, new one in, its lip all round. Take-off in to its rim."),
            say("Tug test."),
            flush,
        ),
        "main": (
            say("Valve shut. Cut square, push both ends hard into the joiner, nuts tight by hand."),
            say("Then flush the main pipe and every line beyond."),
        ),
        "filter": (
            say("Valve shut. Bowl off, new screen in, its washer clean, bowl on by hand."),
            say("Arrow the way the water goes. Never run without a screen."),
        ),
        "valve": (
            say("Empty the tank first. Old valve off, threads wrapped anew, new one on by hand."),
            say("Handle along the pipe means open, across it shut. Shut it, fill, look for drips."),
        ),
        "hole": (
            say("Push the plug in until it sits. Punch anew a hand beside it."),
            say("Never widen a hole."),
        ),
    }
    return ways[what]


def repair_parts(answers: Answers, context: Context) -> Sequence[Phrase]:
    """Show what to buy."""
    return parts_in_words(known_plot(answers, context), repair_of(answers))


def repair_how(answers: Answers, context: Context) -> Sequence[Phrase]:
    """Show how it is mended."""
    return how_in_words(repair_of(answers))
