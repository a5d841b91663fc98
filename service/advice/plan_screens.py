"""What the plan conversation shows and asks for by name: guards, results, lists to choose from."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from service.advice import plan_words, usual
from service.advice.answers import NOT_BOUGHT, UNREADABLE, Answers
from service.advice.context import Context
from service.advice.crop_names import CROP_NAMES
from service.dialogue import Option, Registry
from service.errors import CardError
from service.phrases import Phrase, say
from service.sizing.card import PlotCard
from service.sizing.pipes import submain_pipes
from service.sizing.result import Plan


def _far_end_gets_its_share(answers: Answers, context: Context) -> bool:
    try:
        return not context.plan(answers).remedies
    except CardError:
        return True


_CROP_OPTIONS = {key: Option(key, say(name), others) for key, (name, others) in CROP_NAMES.items()}


def _crops(answers: Answers, context: Context) -> Sequence[Option]:
    return [option for key, option in _CROP_OPTIONS.items() if key in context.tables.crops]


def _main_pipes(answers: Answers, context: Context) -> Sequence[Option]:
    sizes = [f"{pipe.outer_mm:g}" for pipe in submain_pipes(context.tables.pipes)]
    return [
        *(Option(size, say("{size} mm", size=size), (size, f"{size}mm")) for size in sizes),
        Option(NOT_BOUGHT, say("Not bought yet")),
        Option(UNREADABLE, say("Cannot read")),
    ]


Words = Callable[[PlotCard, Plan, Context], Sequence[Phrase]]


def from_plan(words: Words) -> Callable[[Answers, Context], Sequence[Phrase]]:
    """Make a show of a function that words a plan; a card that cannot be one is explained."""

    def show(answers: Answers, context: Context) -> Sequence[Phrase]:
        try:
            card = context.card(answers)
            return words(card, context.planner.plan(card, context.today), context)
        except CardError as fault:
            return plan_words.cannot_plan(fault)

    return show


def _plan_water(card: PlotCard, plan: Plan, context: Context) -> Sequence[Phrase]:
    return (plan_words.stand_caution(card), *plan_words.water_needed(plan))


def _plan_layout(card: PlotCard, plan: Plan, context: Context) -> Sequence[Phrase]:
    layout = plan.layouts[plan.recommended]
    return (
        *plan_words.lay(layout, _pipe_name(plan, context)),
        plan_words.far_end(plan),
        *plan_words.unsure(plan),
    )


def _plan_remedies(card: PlotCard, plan: Plan, context: Context) -> Sequence[Phrase]:
    return plan_words.what_helps(card, plan, _pipe_names(context))


_open_valve = from_plan(lambda card, plan, context: plan_words.open_valve(plan))


def _plan_watering(answers: Answers, context: Context) -> Sequence[Phrase]:
    valve = _open_valve(answers, context)
    if answers.get("water_source") == "open":
        return (*valve, say("River or pond water: rinse the filter every day."))
    return valve


def _plan_months(card: PlotCard, plan: Plan, context: Context) -> Sequence[Phrase]:
    return plan_words.months(plan)


def _plan_short(card: PlotCard, plan: Plan, context: Context) -> Sequence[Phrase]:
    return plan_words.in_short(card, plan, _pipe_name(plan, context))


def _plan_parts(card: PlotCard, plan: Plan, context: Context) -> Sequence[Phrase]:
    return plan_words.parts(plan, context.tables.prices)


def _usual_values(answers: Answers, context: Context) -> Sequence[Phrase]:
    try:
        return (usual.taken_as_usual(context.card(answers), context.tables),)
    except CardError as fault:
        return plan_words.cannot_plan(fault)


def _pipe_names(context: Context) -> dict[float, str]:
    return {pipe.bore_mm: f"{pipe.outer_mm:g} mm" for pipe in submain_pipes(context.tables.pipes)}


def _pipe_name(plan: Plan, context: Context) -> str:
    bore = plan.layouts[plan.recommended].submain_inner_diameter_mm
    return _pipe_names(context).get(bore, f"{bore:g} mm")


REGISTRY = Registry(
    guards={"far_end_gets_its_share": _far_end_gets_its_share},
    shows={
        "usual_values": _usual_values,
        "plan_water": from_plan(_plan_water),
        "plan_layout": from_plan(_plan_layout),
        "plan_remedies": from_plan(_plan_remedies),
        "plan_watering": _plan_watering,
        "plan_months": from_plan(_plan_months),
        "plan_parts": from_plan(_plan_parts),
        "plan_short": from_plan(_plan_short),
    },
    options={"crops": _crops, "main_pipes": _main_pipes},
)
