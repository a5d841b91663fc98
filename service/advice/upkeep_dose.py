"""Acid and chlorine: when they may be used, who has released them, and what is told.

No amount leaves this module unless it was released, whatever state asks for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from service.advice import upkeep_dose_words as words
from service.advice.answers import Answers
from service.advice.context import Context
from service.advice.upkeep_plot import PlotPipes, known_plot
from service.advice.water_case import planted_on
from service.dialogue import Option, Registry
from service.errors import OutOfRange
from service.phrases import Phrase, say
from service.sizing.treatment import (
    BLEACH_HIGH_PCT,
    BLEACH_LOW_PCT,
    Acid,
    Mix,
    acid_dose,
    acids,
    can_mix,
    chlorine_dose,
    mix,
)

RELEASED = "treatment_released"
"""Answer that a person at the helpline sets for one phone: the day (ISO) for which the amount is
told. No question stores it, so no caller can."""
OTHER = "other"
"""Stored as the acid when it is none of the table."""
APART_DAYS = 7
"""Between acid and chlorine in the same lines [days]: our choice; the rinse is what counts."""
SEASON_DAYS = 90
"""Acid at most once in so many days, and once a crop [days]: once a season, common practice."""


RELEASED_FOR = "treatment_released_for"
"""Kept beside the day: what was released, as `release_mark` writes it."""


def release_mark(treatment: str, chemical: str, strength_pct: float) -> str:
    """Return what a release is for: another chemical or strength is another matter."""
    return f"{treatment}:{chemical}:{strength_pct:g}"


def _released(answers: Answers, context: Context, mark: str) -> bool:
    """Whether an amount may be told: by the deployment's rule, or for this phone and this day.

    The default is a person at the helpline, who asked for a trained helper on the spot, and only
    for the chemical and strength that were read out then.
    """
    if answers.get("trained_helper") != "yes":
        return False
    if context.release_treatments:
        return True
    today = answers.get(RELEASED) == context.today.isoformat()
    return today and answers.get(RELEASED_FOR) == mark


def acid_released(answers: Answers, context: Context) -> bool:
    """Whether the amount of the acid told may be told, as `_released` says."""
    mark = release_mark("acid", str(answers.get("acid")), _number(answers, "acid_pct"))
    return _released(answers, context, mark)


def chlorine_released(answers: Answers, context: Context) -> bool:
    """Whether the amount of the bleach told may be told, as `_released` says."""
    return _released(answers, context, release_mark("chlorine", "", _number(answers, "bleach_pct")))


def day_of(answers: Answers, name: str) -> date | None:
    """Return the day kept under a name; None when there is none that can be read."""
    try:
        return date.fromisoformat(str(answers.get(name, "")))
    except ValueError:
        return None


def _near(answers: Answers, name: str, context: Context) -> bool:
    day = day_of(answers, name)
    return day is not None and (context.today - day).days < APART_DAYS


def _acid_was_near(answers: Answers, context: Context) -> bool:
    return _near(answers, "upkeep_acid_done", context)


def _chlorine_was_near(answers: Answers, context: Context) -> bool:
    return _near(answers, "upkeep_chlorine_done", context)


def _acid_once_this_season(answers: Answers, context: Context) -> bool:
    day = day_of(answers, "upkeep_acid_done")
    if day is None:
        return False
    if (context.today - day).days < SEASON_DAYS:
        return True
    known = answers.get("weeks_since_planting") not in (None, "")
    return known and day >= planted_on(answers, context)


def _water_is_brown(answers: Answers, context: Context) -> bool:
    return answers.get("water_sign") == "brown"


def _acid(answers: Answers) -> Acid | None:
    return acids().get(str(answers.get("acid")))


def _acid_is_known(answers: Answers, context: Context) -> bool:
    return _acid(answers) is not None


def _acids(answers: Answers, context: Context) -> Sequence[Option]:
    return [
        *(
            Option(key, say(name), others)
            for key, (name, others) in words.ACID_NAMES.items()
            if key in acids()
        ),
        Option(OTHER, say("Another, or no label")),
    ]


def _number(answers: Answers, name: str) -> float:
    value = answers.get(name)
    return 0.0 if value in (None, "") else float(str(value))


def _mix(plot: PlotPipes | None) -> Mix | None:
    """Return the mix of a plot that may be treated by hand."""
    if plot is None:
        return None
    found = mix(plot.one, plot.laying)
    return found if can_mix(found.litres) else None


# --- acid ----------------------------------------------------------------------------------------


def _acid_amount(answers: Answers, mix_: Mix) -> float | None:
    acid = _acid(answers)
    try:
        return None if acid is None else acid_dose(acid, _number(answers, "acid_pct"), mix_.litres)
    except OutOfRange:
        return None


def _acid_dose_holds(answers: Answers, context: Context) -> bool:
    found = _mix(known_plot(answers, context))
    return found is not None and _acid_amount(answers, found) is not None


def _acid_not(answers: Answers, context: Context) -> Sequence[Phrase]:
    acid, pct = _acid(answers), _number(answers, "acid_pct")
    plot = known_plot(answers, context)
    if acid is not None and not acid.takes(pct):
        return words.acid_out_of_range(acid, pct)
    return _no_mix(plot)


def _no_mix(plot: PlotPipes | None) -> Sequence[Phrase]:
    return words.no_plot() if plot is None else words.too_much_mix()


def _acid_prepare(answers: Answers, context: Context) -> Sequence[Phrase]:
    plot = known_plot(answers, context)
    found = _mix(plot)
    return _no_mix(plot) if found is None else words.acid_prepare_in_words(found)


def _acid_dose(answers: Answers, context: Context) -> Sequence[Phrase]:
    plot, acid = known_plot(answers, context), _acid(answers)
    found = _mix(plot)
    if plot is None or acid is None or found is None:
        return _no_mix(plot)
    amount = _acid_amount(answers, found)
    if amount is None:
        return _acid_not(answers, context)
    if not acid_released(answers, context):
        return words.acid_prepare_in_words(found)
    pct = _number(answers, "acid_pct")
    return words.acid_dose_in_words(plot, acid, pct, found, amount, context.today, context.helpline)


def _acid_rinse(answers: Answers, context: Context) -> Sequence[Phrase]:
    found = _mix(known_plot(answers, context))
    if found is None:
        return (words.until_paper(),)
    return (*words.rinse_in_words(found), words.until_paper())


# --- chlorine ------------------------------------------------------------------------------------


def _chlorine_amount(answers: Answers, mix_: Mix) -> float | None:
    try:
        return chlorine_dose(_number(answers, "bleach_pct"), mix_.litres)
    except OutOfRange:
        return None


def _chlorine_dose_holds(answers: Answers, context: Context) -> bool:
    found = _mix(known_plot(answers, context))
    return found is not None and _chlorine_amount(answers, found) is not None


def _chlorine_not(answers: Answers, context: Context) -> Sequence[Phrase]:
    if not BLEACH_LOW_PCT <= _number(answers, "bleach_pct") <= BLEACH_HIGH_PCT:
        return words.bleach_out_of_range()
    return _no_mix(known_plot(answers, context))


def _chlorine_prepare(answers: Answers, context: Context) -> Sequence[Phrase]:
    plot = known_plot(answers, context)
    found = _mix(plot)
    return _no_mix(plot) if found is None else words.chlorine_prepare_in_words(found)


def _chlorine_dose(answers: Answers, context: Context) -> Sequence[Phrase]:
    plot = known_plot(answers, context)
    found = _mix(plot)
    if plot is None or found is None:
        return _no_mix(plot)
    amount = _chlorine_amount(answers, found)
    if amount is None:
        return _chlorine_not(answers, context)
    if not chlorine_released(answers, context):
        return words.chlorine_prepare_in_words(found)
    pct = _number(answers, "bleach_pct")
    return words.chlorine_dose_in_words(plot, pct, found, amount, context.today, context.helpline)


def _chlorine_rinse(answers: Answers, context: Context) -> Sequence[Phrase]:
    found = _mix(known_plot(answers, context))
    if found is None:
        return (words.until_no_smell(),)
    return (*words.rinse_in_words(found), words.until_no_smell())


REGISTRY = Registry(
    guards={
        "acid_released": acid_released,
        "chlorine_released": chlorine_released,
        "acid_once_this_season": _acid_once_this_season,
        "acid_was_near": _acid_was_near,
        "chlorine_was_near": _chlorine_was_near,
        "water_is_brown": _water_is_brown,
        "acid_is_known": _acid_is_known,
        "acid_dose_holds": _acid_dose_holds,
        "chlorine_dose_holds": _chlorine_dose_holds,
    },
    shows={
        "acid_not": _acid_not,
        "acid_prepare": _acid_prepare,
        "acid_dose": _acid_dose,
        "acid_rinse": _acid_rinse,
        "chlorine_not": _chlorine_not,
        "chlorine_prepare": _chlorine_prepare,
        "chlorine_dose": _chlorine_dose,
        "chlorine_rinse": _chlorine_rinse,
    },
    options={"acids": _acids},
)
