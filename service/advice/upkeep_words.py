"""Upkeep in words: what is due, how often by this water, how the lines are flushed here."""

from __future__ import annotations

from collections.abc import Sequence

from service.advice import rounding
from service.advice.upkeep_plot import PlotPipes
from service.phrases import Number, Phrase, say, say_n
from service.sizing.flushing import Flush, flush
from service.sizing.upkeep import Due, Task, every_days
from service.units import MINUTES_PER_HOUR, litres_per_hour

MOST_TANKS = 1.5
"""More water than this for one flush is shared out over some days [tanks]: our choice."""


def task_name(task: Task) -> Phrase:
    """A task in a word or two."""
    names = {
        "filter": say("filter"),
        "walk": say("walk along the lines"),
        "lines": say("flush the line ends"),
        "tank": say("tank and stand"),
    }
    return names[task]


def due_in_words(due: Sequence[Due]) -> tuple[Phrase, ...]:
    """What is due today, or what comes next."""
    today = tuple(task_name(each.task) for each in due if each.in_days <= 0)
    if today:
        # Translators: {tasks} is a list such as "filter, flush the line ends".
        return (say("Due today: {tasks}.", tasks=today),)
    first = due[0]
    return (
        say_n(
            "Nothing is due today. Tomorrow: {task}.",
            "Nothing is due today. In {days} days: {task}.",
            count="days",
            days=first.in_days,
            task=task_name(first.task),
        ),
    )


def acid_may_be_due() -> Phrase:
    """Said at the end of a crop where the water leaves lime."""
    return say("The crop is over and your water leaves crust: look at Crust, slime.")


def filter_in_words(sign: str, *, open_water: bool) -> tuple[Phrase, ...]:
    """How often this water wants the filter rinsed."""
    if every_days("filter", sign, open_water=open_water) == 1:
        return (say("Your water: every day."),)
    return (say("Your water: once a week."),)


def water_in_words(sign: str, *, open_water: bool) -> tuple[Phrase, ...]:
    """What the water's sign means and what to do about it before it reaches the lines."""
    means = {
        "brown": say("Brown: iron. Let it splash into an open drum and stand a night."),
        "eggs": say("Rotten eggs: makes slime. Let it splash into an open drum first."),
        "crust": say("White crust: lime. Keep lines shaded, under straw. Acid last of all."),
        "green": say("Green: algae live on light. Cover or paint the tank, lid shut."),
        "cloudy": say("Cloudy: silt. Let it stand a night, draw it from above the mud."),
    }.get(sign, say("Clear water: little to fear."))
    days = every_days("lines", sign, open_water=open_water)
    if every_days("filter", sign, open_water=open_water) == 1:
        return (means, say("Filter every day, line ends every {days} days.", days=days))
    return (means, say("Filter every week, line ends every {days} days.", days=days))


def speed_in_words(plot: PlotPipes) -> tuple[Phrase, ...]:
    """Whether this stand drives the dirt out of the farthest line."""
    end = flush(plot.one).line
    if end.minutes is None:
        return (say("No water reaches the far line ends: look for a kink, or ask the helpline."),)
    litres = Number(litres_per_hour(end.flow) / MINUTES_PER_HOUR, 1)
    if end.fast_enough:
        return (
            say(
                "Tank full, one line end open: about {litres} L a minute must come at the far "
                "lines. That is fast enough to carry dirt out.",
                litres=litres,
            ),
            say("All ends open at once are too slow."),
        )
    return (
        say(
            "Tank full, one line end open: only about {litres} L a minute come at the far lines. "
            "That is slow: shake the line while it runs, flush more often.",
            litres=litres,
        ),
    )


def ends_in_words(plot: PlotPipes) -> tuple[Phrase, ...]:
    """One end after the other: minutes for each, and water for all."""
    found = flush(plot.one)
    minutes = found.line.whole_minutes
    if minutes is None or found.litres is None:
        return (_one_by_one(2), close_it())
    return (_one_by_one(minutes), close_it(), *_water(plot, found))


def ends_of_any_plot() -> tuple[Phrase, ...]:
    """The same where no plot is known."""
    return (_one_by_one(2), close_it())


def _one_by_one(minutes: int) -> Phrase:
    return say_n(
        "Then each line end, one at a time, from the tank on: {n} minute or until clear.",
        "Then each line end, one at a time, from the tank on: {n} minutes or until clear.",
        count="n",
        n=minutes,
    )


def close_it() -> Phrase:
    """The end of each flush."""
    return say("Close it before the next.")


def _water(plot: PlotPipes, found: Flush) -> tuple[Phrase, ...]:
    if found.litres is None:
        return ()
    fills = found.litres / plot.card.tank.volume_l
    said = rounding.fills(max(0.1, fills))
    if fills > MOST_TANKS:
        return (say("All take about {fills} x the tank: some each day.", fills=said),)
    return (say("All take about {fills} x the tank.", fills=said),)


def speed_of_any_plot() -> tuple[Phrase, ...]:
    """Said where no plot is known."""
    return (say("Flush one end at a time with the tank full: all open at once are too slow."),)
