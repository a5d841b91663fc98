"""How far water goes, in words: land through the peak, other crops, what to protect."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, sqrt

from service.advice import rounding
from service.advice.crop_names import CROP_NAMES
from service.advice.water_case import PlotWater
from service.phrases import Month, Number, Phrase, say
from service.sizing.crops import Crop
from service.sizing.enough import KY_HOLDS, Deficit, Land, Short
from service.units import BUCKET_L

LARGEST_SAID_M2 = 100_000.0
"""More land than ten hectares is said as that [m²]."""


def crop_name(crop: Crop) -> Phrase:
    """The crop as the caller chose it from the list."""
    return say(CROP_NAMES[crop.key][0]) if crop.key in CROP_NAMES else say("{c}", c=crop.name)


def land_in_words(
    land: Land, crop: Crop, litres_day: float, *, in_metres: bool
) -> tuple[Phrase, ...]:
    """How much land the water keeps; `in_metres` as a square too, where no plot is known."""
    if land.area_m2 is None:
        return (say("{crop}: at its peak rain alone is enough here.", crop=crop_name(crop)),)
    area = min(land.area_m2, LARGEST_SAID_M2)
    # Translators: land that this water keeps through the thirstiest month.
    kept = say(
        "{crop}: {litres} L a day ({buckets} buckets) keep about {area} m2 at the peak ({month}).",
        crop=crop_name(crop),
        litres=rounding.litres(litres_day),
        buckets=Number(floor(litres_day / BUCKET_L + 1e-6)),
        area=rounding.litres(area),
        month=Month(land.peak_month),
    )
    if not in_metres:
        return (kept,)
    side = Number(floor(2 * sqrt(area)) / 2, 1)
    return (kept, say("That is {side} m by {side} m.", side=side))


def plot_in_words(plot: PlotWater, land: Land) -> tuple[Phrase, ...]:
    """What that means for the plot that was planned."""
    area = plot.case.area_m2
    if land.area_m2 is None or land.area_m2 >= area:
        return (say("Enough for your plot of {area} m2.", area=Number(area)),)
    lines = _lines_kept(plot, land.area_m2 / area)
    if lines < 1:
        return (say("Your plot has {area} m2: not enough for one line.", area=Number(area)),)
    return (
        say(
            "Your plot has {area} m2: full water for {n} of its {all} lines.",
            area=Number(area),
            n=lines,
            all=plot.layout.line_count,
        ),
    )


def _lines_kept(plot: PlotWater, share: float) -> int:
    return floor(share * plot.layout.line_count + 1e-9)


def others_in_words(lands: Sequence[tuple[Crop, Land]]) -> tuple[Phrase, ...]:
    """The land that the same water keeps of other crops, one a line."""
    return (say("The same water keeps at the peak, about:"), *map(_other, lands))


def _other(pair: tuple[Crop, Land]) -> Phrase:
    crop, land = pair
    if land.area_m2 is None:
        return say("{crop}: rain is enough", crop=crop_name(crop))
    return say(
        "{crop}: {area} m2 ({month})",
        crop=crop_name(crop),
        area=rounding.litres(min(land.area_m2, LARGEST_SAID_M2)),
        month=Month(land.peak_month),
    )


def protect_in_words(rule: Deficit | None) -> tuple[Phrase, ...]:
    """Which weeks to protect when water is short, and which to spare."""
    if rule is None:
        return (say("Plant less, and water that well."),)
    return (
        say("Keep seedlings wet for two weeks."),
        _protect(rule),
        *_spare(rule),
    )


def _protect(rule: Deficit) -> Phrase:
    # Translators: the weeks in which the crop must have all its water.
    sentences = {
        "fruit": say("Full water from first flower until fruits have their size."),
        "pods": say("Full water from first flower until the pods are full."),
        "cobs": say("Full water two weeks before and after the silk shows."),
        "flower": say("Full water from buds to the end of flowering."),
        "bulbs": say("Full water while the bulbs swell."),
        "roots": say("Full water while the roots swell."),
        "heads": say("Full water while the heads form."),
        "leaves": say("Leaves suffer at once: no week can go short."),
        "always": say("It bears all year: no week can go short."),
    }
    return sentences[rule.protect]


def _spare(rule: Deficit) -> tuple[Phrase, ...]:
    if rule.spare == "ripening":
        # Translators: save water.
        return (say("Save when it ripens: half is enough."),)
    if rule.spare == "before_heads":
        # Translators: save water; heads as of cabbage.
        return (say("Save a little before heads form."),)
    if rule.spare == "after_picking":
        # Translators: save water.
        return (say("Save after picking."),)
    return ()


def short_in_words(short: Short) -> tuple[Phrase, ...]:
    """The two ways of living with too little water, by the harvest they leave."""
    part = rounding.per_cent(100 * short.part_of_plot)
    if short.part_of_plot < KY_HOLDS:
        return (say("Less than half of the need: plant only {part}% of the plot.", part=part),)
    if short.whole_plot is None:
        return (say("Better water {part}% of the plot well than all of it thinly.", part=part),)
    whole = rounding.per_cent(100 * short.whole_plot)
    if short.plant_less:
        return (
            say(
                "Shared over the whole plot: about {whole}% of a harvest. {part}% of the plot "
                "watered well is surer: plant less.",
                whole=whole,
                part=part,
            ),
        )
    return (
        say(
            "Share the water over all of the plot: about {whole}% of a harvest. Only {part}% of "
            "the land can get full water.",
            whole=whole,
            part=part,
        ),
    )
