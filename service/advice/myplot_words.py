"""My plot in words: what lies there, what its time to empty says, what was taken as usual."""

from __future__ import annotations

from collections.abc import Sequence

from service.advice import rounding
from service.advice.crop_names import CROP_NAMES
from service.phrases import Number, Phrase, say, say_n
from service.sizing.calibration import Calibration, Contradiction
from service.sizing.card import PlotCard
from service.sizing.result import Layout


def plot_in_words(card: PlotCard, layout: Layout) -> Phrase:
    """One sentence by which a caller knows the plot again."""
    return say_n(
        "Your plot: {n} line of {length} m, tank {litres} L on {height} m.",
        "Your plot: {n} lines of {length} m, tank {litres} L on {height} m.",
        count="n",
        n=layout.line_count,
        length=rounding.metres(layout.line_length_m),
        litres=Number(round(card.tank.volume_l)),
        height=rounding.metres(card.stand_height_m),
    )


def calibrated_in_words(found: Calibration) -> tuple[Phrase, ...]:
    """What a timed emptying says of the drippers."""
    return (
        # Translators: until a full tank is empty; printed: the flow on the dripline.
        say(
            "You timed {minutes} min; as printed it would be about {reckoned} min.",
            minutes=Number(found.measured),
            reckoned=rounding.minutes(found.expected),
        ),
        # Translators: of the flow printed on the dripline; in brackets from which to which.
        say(
            "So your drippers give about {share}% of print ({low} to {high}).",
            share=rounding.per_cent(100.0 * found.factor),
            low=rounding.per_cent(100.0 * found.low),
            high=rounding.per_cent(100.0 * found.high),
        ),
    )


def contradicted_in_words(found: Contradiction) -> tuple[Phrase, ...]:
    """Why a timed emptying cannot belong to the plot as told, and where to look."""
    if found.reason == "cannot_empty" or found.expected is None:
        return (
            say("As told, water cannot reach the drippers before the tank is empty."),
            say("Is the ground higher than told, or the stand lower?"),
        )
    # Translators: until a full tank is empty.
    timed = say(
        "You timed {minutes} min; I reckon about {reckoned} min.",
        minutes=Number(found.measured),
        reckoned=rounding.minutes(found.expected),
    )
    if found.reason == "too_fast":
        return (
            timed,
            say("Too fast: a leak, an open line end, more lines than told?"),
        )
    return (
        timed,
        say("Too slow: valve half shut, dirty filter, clogged drippers, fewer lines?"),
    )


def still_contradicted() -> Phrase:
    """Said where the time measured no longer fits what was told since."""
    return say("The time you measured does not fit: I reckon without it.")


def calibrated_so(factor: float) -> Phrase:
    """Said with the usual values of a plot that was measured."""
    # Translators: of the flow printed on the dripline.
    return say("Drippers as measured: {share}% of print.", share=rounding.per_cent(100.0 * factor))


def pipe_taken(name: str) -> Phrase:
    """Said where nobody told the size of the main pipe."""
    # Translators: a size such as 25 mm.
    return say("Main pipe taken as {pipe}.", pipe=name)


def laid_as_planned(layout: Layout) -> tuple[Phrase, ...]:
    """Ask whether a planned plot lies as it was planned."""
    return (
        say_n(
            "Planned here: {n} line of {length} m, {spacing} m apart.",
            "Planned here: {n} lines of {length} m, {spacing} m apart.",
            count="n",
            n=layout.line_count,
            length=rounding.metres(layout.line_length_m),
            spacing=rounding.metres(layout.line_spacing_m),
        ),
        say("Does it lie like this?"),
    )


def crops_of(crops: Sequence[tuple[str, int]]) -> Phrase:
    """Which crops stand on how many lines of a plot."""
    known = [(CROP_NAMES[key][0], lines) for key, lines in crops if key in CROP_NAMES]
    if not known:
        return say("No crop was told yet.")
    if len(known) == 1:
        return say("{crop} stands on all lines.", crop=Phrase(known[0][0]))
    named = (
        # Translators: such as "Tomato: 8 lines", one of a list.
        say_n("{crop}: {n} line", "{crop}: {n} lines", count="n", crop=Phrase(name), n=lines)
        for name, lines in known
    )
    return say("Your plot carries {crops}.", crops=tuple(named))


def most_lines(most: int) -> Phrase:
    """How many lines another crop may have at most."""
    return say_n(
        "The main crop needs a line too: send at most {n} line.",
        "The main crop needs a line too: send at most {n} lines.",
        count="n",
        n=most,
    )
