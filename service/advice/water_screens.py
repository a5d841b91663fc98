"""What the water conversation shows by name: today's minutes and where they come from."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from service.advice import plan_words
from service.advice.answers import Answers
from service.advice.context import Context
from service.advice.water_case import (
    PlotWater,
    crop_waters,
    has_crop,
    has_plot,
    has_tank,
    plot_water,
)
from service.advice.water_reports import REPORTS, kept_reports, morning_of, report_of
from service.advice.water_words import crops_in_words, today_in_words, why_in_words
from service.dialogue import Registry
from service.errors import CardError
from service.phrases import Phrase
from service.sizing.soil_store import Feel
from service.sizing.today import WET, Report, Today, water_today


def today_of(plot: PlotWater, answers: Answers, context: Context) -> Today:
    """Return today's water for a plot, from the report of today and those before it."""
    return todays_water(plot, report_of(answers), answers, context)


def todays_water(plot: PlotWater, report: Report, answers: Answers, context: Context) -> Today:
    """Return the same for a report that was not told in this conversation; for reminders too."""
    morning = morning_of(plot.case, answers, context)
    return water_today(plot.case, context.today, report, plot.strip_rate_mm_h, morning)


def given_litres(plot: PlotWater, answers: Answers) -> float:
    """Return the water that the plot had today already [L]."""
    return float(str(answers.get("tanks_today") or 0)) * plot.layout.delivered_litres


Words = Callable[[PlotWater, Answers, Context], Sequence[Phrase]]


def _from_plot(words: Words) -> Callable[[Answers, Context], Sequence[Phrase]]:
    def show(answers: Answers, context: Context) -> Sequence[Phrase]:
        try:
            return words(plot_water(answers, context), answers, context)
        except CardError as fault:
            return plan_words.cannot_plan(fault)

    return show


def _today(plot: PlotWater, answers: Answers, context: Context) -> Sequence[Phrase]:
    given = given_litres(plot, answers)
    crops = crop_waters(answers, context)
    if len(crops) > 1:
        needs = [(crop, today_of(crop, answers, context)) for crop in crops]
        return crops_in_words(needs, given)
    today = today_of(plot, answers, context)
    return today_in_words(plot, today, report_of(answers), given, _rests_when(plot, context))


def _rests_when(plot: PlotWater, context: Context) -> Feel | None:
    """Return the shallowest wet soil that would let the plot go without water today."""
    for feel in WET:
        if water_today(plot.case, context.today, Report(feel=feel)).skip_days:
            return feel
    return None


def _why(plot: PlotWater, answers: Answers, context: Context) -> Sequence[Phrase]:
    return why_in_words(plot, today_of(plot, answers, context))


def _months(plot: PlotWater, answers: Answers, context: Context) -> Sequence[Phrase]:
    today = (context.today.year, context.today.month)
    ahead = tuple(row for row in plot.plan.watering if (row.year, row.month) >= today)
    if not ahead:
        return today_in_words(plot, today_of(plot, answers, context), Report(), 0.0)
    return plan_words.months(plot.plan.model_copy(update={"watering": ahead}))


REGISTRY = Registry(
    guards={"has_plot": has_plot, "has_crop": has_crop, "has_tank": has_tank},
    shows={
        "water_today": _from_plot(_today),
        "water_why": _from_plot(_why),
        "water_months": _from_plot(_months),
    },
    options={},
    also={REPORTS: kept_reports},
)
