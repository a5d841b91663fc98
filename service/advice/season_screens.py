"""What the season conversation shows and asks for by name."""

from __future__ import annotations

from collections.abc import Sequence

from service.advice import season_words
from service.advice.answers import Answers
from service.advice.context import Context
from service.advice.crop_names import CROP_NAMES
from service.advice.install_steps import Steps
from service.advice.upkeep_plot import from_pipes, known_plot
from service.dialogue import Option, Registry
from service.phrases import Phrase, say

STEPS = Steps("season", season_words.STEPS)
NEXT = "next_crop"
"""The crop that comes, kept apart from the one that was until it is taken up."""


def _next_fits(answers: Answers, context: Context) -> Sequence[Phrase]:
    plot, crop = known_plot(answers, context), context.tables.crops.get(str(answers.get(NEXT)))
    return () if plot is None or crop is None else season_words.next_fits(plot, crop)


def _take_crop(answers: Answers, context: Context) -> Sequence[Option]:
    keys = dict.fromkeys(str(answers.get(name)) for name in (NEXT, "crop"))
    known = [key for key in keys if key in context.tables.crops and key in CROP_NAMES]
    # Translators: {crop} is the name of a crop that is planted next.
    return [Option(key, say("Plant: {crop}", crop=say(CROP_NAMES[key][0]))) for key in known]


REGISTRY = Registry(
    guards=STEPS.guards(),
    shows={
        "season_where": STEPS.where,
        "season_roll": from_pipes(season_words.roll),
        "season_lines": from_pipes(season_words.lay_again),
        "season_next_fits": _next_fits,
    },
    options={"season_take_crop": _take_crop},
)
