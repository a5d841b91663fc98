"""What a turn leaves beside the session: the phone's language, the plot, the ledger of consent."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeAlias

from service.channels.talk import LANGUAGE
from service.records import Caller, Consent, Phone, Plot, Session, UnitOfWork, with_changes

Kept: TypeAlias = Callable[[Mapping[str, object]], Mapping[str, object]]
Effects: TypeAlias = Callable[[UnitOfWork, Phone, Session, Session, datetime], None]
"""Writes what answers mean beside the plot, such as a ticket, in the transaction of the turn.

It gets the session before and after, and is called only when answers changed.
"""


def keep_all(answers: Mapping[str, object]) -> Mapping[str, object]:
    """Every answer describes the plot, until somebody says which do not."""
    return answers


def known_of(plot: Plot | None) -> Mapping[str, object]:
    """What a conversation knows before its first question."""
    return plot.answers if plot else {}


def caught_up(session: Session, plot: Plot | None) -> Session:
    """The session with what another conversation has learnt of the same plot meanwhile."""
    if plot is None or session.plot_id not in (None, plot.id):
        return session
    if plot.answers.items() <= session.answers.items():
        return session
    return replace(session, answers={**session.answers, **plot.answers})


@dataclass(frozen=True, slots=True)
class Keeper:
    """Writes what outlives a session, in the transaction of its turn and only when it changed.

    `kept` picks the answers that describe the plot.
    """

    new_id: Callable[[], str]
    kept: Kept = keep_all
    effects: Effects | None = None

    def phone(self, work: UnitOfWork, caller: Caller, number: str, now: datetime) -> Phone:
        """The phone of a caller, new or known."""
        if caller.phone is not None:
            if caller.phone.failed_days:
                work.phones.reached(caller.phone.id)
            return caller.phone
        phone = Phone(self.new_id(), number, None, now)
        work.phones.add(phone)
        return phone

    def language(self, work: UnitOfWork, phone: Phone, session: Session) -> None:
        """Remember the language that was chosen."""
        language = session.answers.get(LANGUAGE)
        if isinstance(language, str) and language != phone.language:
            work.phones.set_language(phone.id, language)

    def answers(
        self, work: UnitOfWork, caller: Caller, phone: Phone, before: Session, after: Session
    ) -> Session:
        """Keep what this turn changed; return the session with the plot that it belongs to."""
        if before.answers == after.answers:
            return after
        moved = self.plot(work, caller, before.answers, after)
        if self.effects is not None:
            self.effects(work, phone, before, moved, moved.updated_at)
        return moved

    def plot(
        self, work: UnitOfWork, caller: Caller, before: Mapping[str, object], session: Session
    ) -> Session:
        """Keep what this turn changed about the plot; return the session that belongs to it."""
        old, new = self._about(before), self._about(session.answers)
        if old == new:
            return session
        plot, now = self._plot(work, caller.plot, session), session.updated_at
        if plot is None:
            plot = Plot(self.new_id(), session.phone_id, now, now, answers=new)
            work.plots.add(plot)
        else:
            answers = with_changes(plot.answers, old, new)
            if answers != plot.answers:
                work.plots.save(replace(plot, answers=answers, updated_at=now))
        return session if session.plot_id == plot.id else replace(session, plot_id=plot.id)

    def _plot(self, work: UnitOfWork, current: Plot | None, session: Session) -> Plot | None:
        """A conversation stays with its plot even when the phone has turned to another."""
        if session.plot_id is None or (current and current.id == session.plot_id):
            return current
        return work.plots.get(session.plot_id) or current

    def _about(self, answers: Mapping[str, object]) -> dict[str, object]:
        return {name: value for name, value in self.kept(answers).items() if name != LANGUAGE}

    def consent(
        self,
        work: UnitOfWork,
        phone_id: str,
        words: str,
        channel: str,
        now: datetime,
        *,
        given: bool,
    ) -> bool:
        """Add a line to the ledger; return whether it changed anything."""
        latest = work.consents.latest(phone_id)
        work.consents.add(Consent(self.new_id(), phone_id, now, given, words, channel))
        return latest is None or latest.given != given

    def refused(self, work: UnitOfWork, phone_id: str) -> bool:
        """Whether the last word of a phone was to be left alone."""
        latest = work.consents.latest(phone_id)
        return latest is not None and not latest.given
