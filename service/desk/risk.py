"""How much a plot needs a visit, and why, in words. All weights are our own judgement."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from service.advice.check_cups import measurements
from service.advice.upkeep_dose import day_of
from service.advice.upkeep_screens import days_done, from_open_water, water_sign
from service.phrases import N_, Number, Phrase, say, say_n
from service.records import Farmer, Ticket
from service.sizing.field_check import Band
from service.sizing.field_tables import uniformity_bands
from service.sizing.upkeep import due_tasks

FAULT_SEEN, FAULT_DAY = "fault_seen", "fault_seen_on"
FRESH_DAYS = 21
"""How long a fault that was told counts as open without a ticket [days]."""
SILENT_DAYS, LONG_SILENT_DAYS = 60, 120
"""Without any answer about the plot [days]: twice a month is what a watered plot is worth."""
OVERDUE_DAYS = 7
"""An upkeep task so many days late [days] is forgotten, not postponed."""
WEIGHTS = {
    "danger": 100.0,
    "ticket": 30.0,
    "fault": 20.0,
    "poor": 25.0,
    "fair": 10.0,
    "long_silent": 15.0,
    "silent": 8.0,
    "overdue": 5.0,
}
TASK_NAMES = {
    "filter": N_("the filter"),
    "walk": N_("walking the lines"),
    "lines": N_("flushing"),
    "tank": N_("tank and stand"),
}


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason for a visit and what it weighs."""

    weight: float
    words: Phrase


@dataclass(frozen=True, slots=True)
class Visit:
    """A plot to visit: the weights added up, and each reason, the heaviest first."""

    farmer: Farmer
    score: float
    reasons: tuple[Reason, ...]


def visit_of(farmer: Farmer, tickets: Sequence[Ticket], today: date) -> Visit:
    """Return how much a plot needs a visit; a score of 0 is no need."""
    answers = farmer.plot.answers
    reasons = [
        *_tickets(tickets),
        *_fault(answers, tickets, today),
        *_uniformity(answers),
        *_silence(farmer, today),
        *_upkeep(answers, today),
    ]
    reasons.sort(key=lambda one: -one.weight)
    return Visit(farmer, sum(one.weight for one in reasons), tuple(reasons))


def _tickets(tickets: Sequence[Ticket]) -> Iterator[Reason]:
    if any(ticket.danger for ticket in tickets):
        yield Reason(WEIGHTS["danger"], say("Somebody told of danger: ring first."))
    elif tickets:
        words = say_n(
            "{tickets} ticket is open.",
            "{tickets} tickets are open.",
            count="tickets",
            tickets=len(tickets),
        )
        yield Reason(WEIGHTS["ticket"], words)


def fault_told(answers: Mapping[str, object], today: date, within: int) -> str:
    """Return the fault that was told of a plot within so many days; empty when none."""
    day = day_of(answers, FAULT_DAY)
    fresh = day is not None and 0 <= (today - day).days <= within
    return str(answers.get(FAULT_SEEN) or "") if fresh else ""


def _fault(
    answers: Mapping[str, object], tickets: Sequence[Ticket], today: date
) -> Iterator[Reason]:
    if fault_told(answers, today, FRESH_DAYS) and not tickets:
        yield Reason(WEIGHTS["fault"], say("A fault was told, and no ticket followed."))


def _uniformity(answers: Mapping[str, object]) -> Iterator[Reason]:
    checks = [one for one in measurements(answers) if one.get("du_pct") is not None]
    if not checks:
        return
    du = float(checks[-1]["du_pct"])
    band = _band(du)
    if band in ("poor", "fair"):
        words = say("The last cup test gave an evenness of {du} %.", du=Number(du))
        yield Reason(WEIGHTS[band], words)


def _band(du_pct: float) -> Band:
    held = min(max(du_pct, 0.0), 100.0)
    return next(limits.band for limits in uniformity_bands() if held >= limits.low)


def _silence(farmer: Farmer, today: date) -> Iterator[Reason]:
    days = (today - farmer.plot.updated_at.date()).days
    if days >= SILENT_DAYS:
        weight = WEIGHTS["long_silent" if days >= LONG_SILENT_DAYS else "silent"]
        yield Reason(weight, say("Nothing heard of this plot for {days} days.", days=days))


def _upkeep(answers: Mapping[str, object], today: date) -> Iterator[Reason]:
    done = days_done(answers)
    due = due_tasks(done, today, water_sign(answers), open_water=from_open_water(answers))
    for one in due:
        # What was never noted as done says nothing: many do it and do not tell.
        if one.task in done and one.in_days <= -OVERDUE_DAYS:
            words = say(
                "Overdue by {days} days: {task}.",
                days=-one.in_days,
                task=say(TASK_NAMES[one.task]),
            )
            yield Reason(WEIGHTS["overdue"], words)
