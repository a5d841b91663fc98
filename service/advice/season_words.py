"""Season change in words: this plot's lines to roll and lay again, and whether a crop fits them."""

from __future__ import annotations

from collections.abc import Mapping

from service.advice import rounding
from service.advice.enough_words import crop_name
from service.advice.upkeep_plot import PlotPipes
from service.phrases import N_, Number, Phrase, say, say_n
from service.sizing.crops import Crop
from service.sizing.spacing import usual_line_spacing

STEPS: Mapping[str, str] = {
    "flush": N_("flushing everything"),
    "drain": N_("emptying tank and lines"),
    "lift": N_("lifting the lines"),
    "plug": N_("plugging the ends"),
    "roll": N_("rolling the lines"),
    "hang": N_("hanging the rolls"),
    "filter": N_("washing the filter"),
    "tank": N_("tank and stand"),
    "chemicals": N_("locking chemicals away"),
    "small": N_("small parts"),
}
"""Steps of closing down by their state in the flow, in the order of the work."""
FITS_M = 0.11
"""Lines that lie nearer than this to the crop's usual spacing fit it [m]: our choice."""


def roll(plot: PlotPipes) -> tuple[Phrase, ...]:
    """How many rolls there will be."""
    return (
        say_n(
            "Roll up {n} line of {length} m.",
            "Roll up {n} lines of {length} m each.",
            count="n",
            n=plot.layout.line_count,
            length=rounding.metres(plot.layout.line_length_m),
        ),
    )


def lay_again(plot: PlotPipes) -> tuple[Phrase, ...]:
    """How many lines there must be."""
    return (
        say_n(
            "There must be {n} line of {length} m.",
            "There must be {n} lines of {length} m.",
            count="n",
            n=plot.layout.line_count,
            length=rounding.metres(plot.layout.line_length_m),
        ),
    )


def next_fits(plot: PlotPipes, crop: Crop) -> tuple[Phrase, ...]:
    """Whether the lines lie as the next crop usually wants them."""
    usual, lies = usual_line_spacing(crop), plot.layout.line_spacing_m
    if abs(usual - lies) <= FITS_M:
        return (say("{crop}: your lines lie right for it.", crop=crop_name(crop)),)
    return (
        say(
            "{crop} usually wants lines {usual} m apart; yours lie {lies} m apart. Plant along "
            "your lines, beside the drippers.",
            crop=crop_name(crop),
            usual=Number(usual, 2),
            lies=Number(lies, 2),
        ),
    )
