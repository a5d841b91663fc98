"""What the enough conversation shows by name: land that a daily amount of water keeps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from service.advice import enough_words
from service.advice.answers import Answers
from service.advice.context import Context
from service.advice.crop_names import CROP_NAMES
from service.advice.water_case import crop_case, has_plot, no_crop, plot_water
from service.dialogue import Registry
from service.errors import CardError
from service.phrases import Phrase
from service.sizing.enough import land_kept, short_of_water
from service.sizing.watering import Case, growing_day
from service.units import BUCKET_L, SECONDS_PER_HOUR

OTHER_CROPS = 3
"""Crops named beside the caller's own."""
ASKED_FOR_MOST = 12
"""The first crops of the list, from which the others are taken."""


def litres_a_day(answers: Answers) -> float:
    """Water that can be brought each day [L], by what was asked: buckets, pump or tanks."""

    def told(name: str) -> float:
        return float(str(answers.get(name) or 0))

    if answers.get("water_from") == "pump":
        seconds = told("bucket_seconds")
        per_hour = BUCKET_L * SECONDS_PER_HOUR / seconds if seconds else 0.0
        return per_hour * told("pump_hours")
    if answers.get("water_from") == "tanks":
        return told("tank_volume_l") * told("fills_a_day")
    return told("brought_l_day")


def _case(answers: Answers, context: Context) -> Case:
    """Return the crop's case; a season that is over is taken to begin anew today."""
    known = has_plot(answers, context)
    case = plot_water(answers, context).case if known else crop_case(answers, context)
    if growing_day(case, context.today) is None:
        return replace(case, planted=context.today)
    return case


def _safely(
    words: Callable[[Answers, Context], Sequence[Phrase]],
) -> Callable[[Answers, Context], Sequence[Phrase]]:
    def show(answers: Answers, context: Context) -> Sequence[Phrase]:
        try:
            return words(answers, context)
        except CardError:
            return no_crop()

    return show


def _land(answers: Answers, context: Context) -> Sequence[Phrase]:
    case = _case(answers, context)
    litres = litres_a_day(answers)
    land = land_kept(case, litres, context.today)
    planned = has_plot(answers, context)
    sentences = enough_words.land_in_words(land, case.crop, litres, in_metres=not planned)
    if not planned:
        return sentences
    return (*sentences, *enough_words.plot_in_words(plot_water(answers, context), land))


def _others(answers: Answers, context: Context) -> Sequence[Phrase]:
    litres, own = litres_a_day(answers), _case(answers, context)
    popular = [key for key in CROP_NAMES if key in context.tables.crops and key != own.crop.key]
    cases = [replace(own, crop=context.tables.crop(key)) for key in popular[:ASKED_FOR_MOST]]
    lands = [(case.crop, land_kept(case, litres, context.today)) for case in cases]
    lands.sort(key=lambda pair: pair[1].area_m2 or float("inf"), reverse=True)
    return enough_words.others_in_words(lands[:OTHER_CROPS])


def _short(answers: Answers, context: Context) -> Sequence[Phrase]:
    case = _case(answers, context)
    rule = enough_words.protect_in_words(context.tables.deficits.get(case.crop.key))
    if not has_plot(answers, context):
        return rule
    short = short_of_water(case, litres_a_day(answers), context.today)
    return rule if short is None else (*enough_words.short_in_words(short), *rule)


REGISTRY = Registry(
    guards={},
    shows={
        "enough_land": _safely(_land),
        "enough_others": _safely(_others),
        "enough_short": _safely(_short),
    },
    options={},
)
