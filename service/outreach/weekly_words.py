"""The weekly text of a plot, as pieces: its water, what changes, what is due, how to stop."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from service.advice.season_screens import STEPS
from service.advice.upkeep_screens import water_sign
from service.advice.upkeep_words import task_name
from service.advice.water_words import crops_in_words, rest, today_in_words
from service.outreach.fitting import Piece, piece
from service.outreach.plot_week import WEEK, PlotWeek, too_slow, weeks_over
from service.phrases import Month, Phrase, say
from service.sizing.today import Report
from service.sizing.upkeep import Task

MUST, FIRST, NEXT, THEN, LAST = range(5)
"""Ranks: what is said whatever happens, and what gives way first."""
STORE_WEEK, RELAY_WEEK = 1, 3
"""Weeks after the end of the crop: are the lines stored; will they be laid again (our choice)."""
CLOSED = "small"
"""The last step of closing down that is kept: whoever stands there has put the lines away."""


def water_pieces(week: PlotWeek, name: str) -> Iterator[Piece]:
    """Yield the date, this week's water, and what the season changes."""
    water, finger = _usual_day(week)
    forms = ((_each_day(week.day, name), *water), (bare_date(week.day), *water))
    yield Piece(MUST, forms)
    if days := week.rest_days():
        yield piece(FIRST, rest(days))
    elif finger:
        yield piece(THEN, *finger)
    yield from _changes(week)


def _usual_day(week: PlotWeek) -> tuple[tuple[Phrase, ...], tuple[Phrase, ...]]:
    """Return the water of a usual day, and what the soil would change about it."""
    needs = week.needs()
    if too_slow(needs):
        return (say("Here a day is too short to give a day's water: ring the helpline."),), ()
    if len(needs) > 1:
        return crops_in_words(needs, 0.0), ()
    plot, today = needs[0]
    said = today_in_words(plot, today, Report(), 0.0, week.rests_when())
    return said[:1], said[1:]


def _each_day(day: date, name: str) -> Phrase:
    # A text that comes twice is seen to be the same by its date.
    if name:
        # Translators: begins a weekly text; {name} is what the farmer calls the plot.
        return say(
            "{name}, water each day, week from {day} {month}.",
            name=name,
            day=day.day,
            month=Month(day.month),
        )
    # Translators: begins a weekly text; then come the minutes of open valve. budget: 50 septets or
    # 36 units
    return say("Water each day, week from {day} {month}.", day=day.day, month=Month(day.month))


def bare_date(day: date) -> Phrase:
    """The shortest beginning of a text that may come twice."""
    # Translators: a date before a sentence, as short as can be. budget: 20 septets or 14 units
    return say("{day} {month}:", day=day.day, month=Month(day.month))


def dated(day: date, name: str) -> Phrase:
    """The beginning of a text that tells of no water."""
    if name:
        # Translators: begins a weekly text; {name} is what the farmer calls the plot.
        return say("{name}, {day} {month}.", name=name, day=day.day, month=Month(day.month))
    # Translators: begins a weekly text in which no watering is told.
    return say("Your drip plot, {day} {month}.", day=day.day, month=Month(day.month))


def _changes(week: PlotWeek) -> Iterator[Piece]:
    end = week.ends_on
    if end is not None and 0 <= (end - week.day).days < WEEK:
        # Translators: the last harvest is near.
        yield piece(
            FIRST,
            say(
                "The crop ends about {day} {month}. Then flush, lift and store the lines.",
                day=end.day,
                month=Month(end.month),
            ),
        )
        return
    new = week.new_stage()
    if new is not None:
        yield piece(NEXT, _begins(new))


def _begins(stage: str) -> Phrase:
    """What a new stage asks for."""
    if stage == "initial":
        return say("Just planted: the wet strip must not dry out.")
    if stage == "development":
        # Translators: 'Feed the crop' is a line of the main menu.
        return say("The plants grow fast now. Time to feed: menu, Feed the crop.")
    if stage == "mid":
        return say("Full grown: the thirstiest weeks. Skip a day only when the soil is wet.")
    return say("The crop ripens: its water goes down week by week.")


def over_pieces(week: PlotWeek, name: str) -> tuple[Piece, ...]:
    """Return what is said after the end of a crop; nothing in most weeks."""
    weeks, step = weeks_over(week), week.answers.get(STEPS.answer)
    begin = piece(MUST, dated(week.day, name))
    if weeks == 0:
        return (begin, *_end(week))
    if weeks == STORE_WEEK and step != CLOSED:
        stopped = tuple(STEPS.where(week.answers, week.context))
        # Translators: 'Season' is a line of the main menu.
        stored = say("Lines lifted, in the shade, away from rats and fire? Menu, Season.")
        return (begin, piece(FIRST, *stopped, stored))
    if weeks == RELAY_WEEK:
        # Translators: 'Season' is a line of the main menu.
        again = say("Planting again? Check the stand, lay the lines, flush first: menu, Season.")
        return (begin, piece(FIRST, again))
    return ()


def _end(week: PlotWeek) -> Iterator[Piece]:
    yield piece(MUST, say("The crop is over: no water now."))
    if water_sign(week.answers) == "crust":
        # Translators: caution: acid is never told in a text.
        yield piece(FIRST, say("White crust on drippers? Ask the helpline before lifting them."))
    # Translators: 'Season' is a line of the main menu.
    yield piece(NEXT, say("Flush all lines, lift them, store them in the shade: menu, Season."))


def due_pieces(tasks: tuple[Task, ...]) -> Iterator[Piece]:
    """Yield what is due, with shorter forms that keep the most overdue."""
    if tasks:
        some = (tasks[:count] for count in range(len(tasks), 0, -1))
        yield Piece(NEXT, tuple((_due(part),) for part in some))


def _due(tasks: tuple[Task, ...]) -> Phrase:
    # Translators: {tasks} is a list such as "filter, flush the line ends". budget: 40 septets or 26
    # units
    return say("Due this week: {tasks}.", tasks=tuple(map(task_name, tasks)))


def stop_piece() -> Piece:
    """How to be left alone."""
    # Translators: STOP works in every language; your own word may stand beside it.
    return piece(FIRST, say("To stop these texts send STOP."))
