"""The weekly text of one plot in one language, or why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from service.advice import Context
from service.advice.myplot_card import is_laid
from service.outreach.fitting import Piece, Translate, piece, text_of
from service.outreach.plot_week import PlotWeek, due_this_week, in_use, plot_week, weeks_over
from service.outreach.weekly_words import (
    MUST,
    dated,
    due_pieces,
    over_pieces,
    stop_piece,
    water_pieces,
)
from service.records import Plot

STOP_EVERY_WEEKS = 4
"""How to stop is told so often, and in the first weeks of a plot (our choice)."""
NEW_FOR_DAYS = 14


@dataclass(frozen=True, slots=True)
class Weekly:
    """A weekly text; empty, with the reason, when nothing is to be said."""

    text: str
    left_out: str = ""


def weekly_text(
    plot: Plot, context: Context, translate: Translate, language: str, since: date
) -> Weekly:
    """Return the text of a plot for the week that begins on the context's day.

    `since` is the day from which upkeep counts that nobody ever reported as done: the day on which
    the plot became known.
    """
    if not in_use(plot.answers):
        return Weekly("", "not_in_use")
    week = plot_week(plot.answers, context)
    if week is None:
        pieces = _without_plan(plot, context, since)
        reason = "no_plan"
    else:
        pieces = _pieces(week, plot, since)
        reason = "nothing_to_say"
    if not pieces:
        return Weekly("", reason)
    if _tells_how_to_stop(context.today, since):
        pieces = (*pieces, stop_piece())
    return Weekly(text_of(pieces, translate, language))


def _pieces(week: PlotWeek, plot: Plot, since: date) -> tuple[Piece, ...]:
    if weeks_over(week) is not None:
        return over_pieces(week, plot.name)
    if not week.grows:
        return ()
    due = due_this_week(plot.answers, week.day, since)
    return (*water_pieces(week, plot.name), *due_pieces(due))


def _without_plan(plot: Plot, context: Context, since: date) -> tuple[Piece, ...]:
    """Of a plot that lies, but whose crop or size is not known, only what is due is told."""
    due = due_this_week(plot.answers, context.today, since) if is_laid(plot.answers) else ()
    if not due:
        return ()
    return (piece(MUST, dated(context.today, plot.name)), *due_pieces(due))


def _tells_how_to_stop(today: date, since: date) -> bool:
    new = (today - since).days < NEW_FOR_DAYS
    return new or today.isocalendar().week % STOP_EVERY_WEEKS == 0
