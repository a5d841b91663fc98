"""Contexts for many plots: one a day, with quick plans and the rain read once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from service.advice import Context
from service.outreach.places import Places
from service.outreach.planner import ManyPlans
from service.outreach.rainfall import rain_kept
from service.records import UnitOfWork

ContextFor = Callable[[datetime], Context]
"""Makes a context for a moment by the clock of a plot: its day is that of the moment."""


@dataclass
class Contexts:
    """Makes contexts that share one planner, so that a later run finds the layouts of this one."""

    context_for: ContextFor
    places: Places
    _plans: ManyPlans | None = field(default=None, repr=False)

    def run(self, work: UnitOfWork) -> Days:
        """Return the contexts of one transaction."""
        return Days(self, work)

    def make(self, work: UnitOfWork, local: datetime) -> Context:
        """Return the context of a day."""
        context = self.context_for(local)
        if self._plans is None or self._plans.tables is not context.tables:
            self._plans = ManyPlans(context.tables)
        return replace(context, planner=self._plans, rain=rain_kept(work, local.date()))


@dataclass
class Days:
    """The contexts of one transaction, by day."""

    contexts: Contexts
    work: UnitOfWork
    _kept: dict[date, Context] = field(default_factory=dict, repr=False)

    def sending(self, district: str, earliest: datetime) -> tuple[datetime, datetime, Context]:
        """Return when somebody may first be written to, the same by their clock, and its context.

        Not before `earliest`.
        """
        places = self.contexts.places
        begin = places.hours(district).next(earliest)
        local = places.local(district, begin)
        if local.date() not in self._kept:
            self._kept[local.date()] = self.contexts.make(self.work, local)
        return begin, local, self._kept[local.date()]
