"""What the upkeep conversation shows and asks for by name: what is due, and that it was done."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date

from service.advice import upkeep_words
from service.advice.answers import Answers
from service.advice.context import Context
from service.advice.upkeep_dose import day_of
from service.advice.upkeep_plot import from_pipes, nothing_grows
from service.dialogue import Option, Registry
from service.phrases import Phrase, say
from service.sizing.upkeep import TASKS, Task, due_tasks

TREATMENTS = ("acid", "chlorine")


def done_name(task: str) -> str:
    """Return the name under which the day of a task is kept: "upkeep_filter_done"."""
    return f"upkeep_{task}_done"


def days_done(answers: Answers) -> dict[Task, date]:
    """Return the day on which each task was done last; for reminders too."""
    days = ((task, day_of(answers, done_name(task))) for task in TASKS)
    return {task: day for task, day in days if day is not None}


def water_sign(answers: Answers) -> str:
    """Return what the water shows."""
    return str(answers.get("water_sign") or "")


def from_open_water(answers: Answers) -> bool:
    """Whether the water comes from a river, a pond or an open well."""
    return answers.get("water_source") == "open"


def _knows_water(answers: Answers, context: Context) -> bool:
    return bool(answers.get("water_source") and answers.get("water_sign"))


def _knows_source(answers: Answers, context: Context) -> bool:
    return bool(answers.get("water_source"))


def _due(answers: Answers, context: Context) -> Sequence[Phrase]:
    sign = water_sign(answers)
    due = due_tasks(days_done(answers), context.today, sign, open_water=from_open_water(answers))
    said = upkeep_words.due_in_words(due)
    if sign == "crust" and nothing_grows(answers, context):
        return (*said, upkeep_words.acid_may_be_due())
    return said


def _filter(answers: Answers, context: Context) -> Sequence[Phrase]:
    return upkeep_words.filter_in_words(water_sign(answers), open_water=from_open_water(answers))


def _water(answers: Answers, context: Context) -> Sequence[Phrase]:
    return upkeep_words.water_in_words(water_sign(answers), open_water=from_open_water(answers))


def _done(task: str) -> Callable[[Answers, Context], Sequence[Option]]:
    def options(answers: Answers, context: Context) -> Sequence[Option]:
        before = answers.get(done_name(task)) or ""
        return [
            Option(context.today.isoformat(), say("Done today")),
            Option(before, say("Not now")),
        ]

    return options


REGISTRY = Registry(
    guards={"upkeep_knows_water": _knows_water, "upkeep_knows_source": _knows_source},
    shows={
        "upkeep_due": _due,
        "upkeep_filter": _filter,
        "upkeep_water": _water,
        "upkeep_lines_speed": from_pipes(
            upkeep_words.speed_in_words, upkeep_words.speed_of_any_plot
        ),
        "upkeep_lines_ends": from_pipes(upkeep_words.ends_in_words, upkeep_words.ends_of_any_plot),
    },
    options={f"upkeep_done_{task}": _done(task) for task in (*TASKS, *TREATMENTS)},
)
