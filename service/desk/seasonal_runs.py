"""Seasonal messages on their way: started, held back, ended, watched, and what became of each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from service.desk.csv_cells import csv_text
from service.desk.office import Office, as_saved, need
from service.desk.refusals import DeskRefused, unknown
from service.desk.seasonal_common import found, in_state, log, start_of
from service.outreach import Progress, Seasonal
from service.phrases import say
from service.records import (
    Account,
    Audit,
    Message,
    Recipient,
    SeasonalMessage,
    SeasonalState,
    UnitOfWork,
    masked,
)

PAGE = 500
STEPS = (
    "seasonal.prepared", "seasonal.edited", "seasonal.tested", "seasonal.submitted",
    "seasonal.sent_back", "seasonal.approved", "seasonal.started", "seasonal.paused",
    "seasonal.resumed", "seasonal.cancelled",
)  # fmt: skip
"""What the history of a message tells: who changed it or let it go out, not who looked."""
EXPORT_HEADER = ("plot", "number", "district", "state", "parts", "left out because", "reason")


@dataclass(frozen=True, slots=True)
class Step:
    """Something that was done with a message: when, what, by whom, and a word why."""

    at: datetime
    action: str
    by: str
    why: str = ""


class SeasonalRuns:
    """Steers messages. `wake` is called with the id of a message that has work to do."""

    def __init__(
        self,
        office: Office,
        seasonal: Seasonal,
        wake: Callable[[str], None] = lambda seasonal_id: None,
    ) -> None:
        self._office, self._seasonal, self._wake = office, seasonal, wake

    def start(
        self, account: Account, seasonal_id: str, now: datetime, starts_at: datetime | None = None
    ) -> SeasonalMessage:
        """Let an approved message go out, at once or from a moment on."""
        new = self._moved(
            account, seasonal_id, now, "seasonal.started", "running", ("approved",),
            lambda old: replace(old, starts_at=start_of(starts_at or old.starts_at, now)),
        )  # fmt: skip
        self._wake(seasonal_id)
        return new

    def pause(self, account: Account, seasonal_id: str, now: datetime) -> SeasonalMessage:
        """Hold a message back: what waits in the outbox stays there until it is resumed."""
        return self._moved(
            account, seasonal_id, now, "seasonal.paused", "paused", ("running", "approved")
        )

    def resume(self, account: Account, seasonal_id: str, now: datetime) -> SeasonalMessage:
        """Let a paused message go on."""
        new = self._moved(account, seasonal_id, now, "seasonal.resumed", "running", ("paused",))
        self._wake(seasonal_id)
        return new

    def cancel(self, account: Account, seasonal_id: str, now: datetime) -> int:
        """End a message; return how many texts were still taken out of the outbox."""
        need(account, "officer")
        with self._office.work() as work:
            old = found(work, account, seasonal_id)
            if old.state in ("done", "cancelled"):
                raise DeskRefused(say("This message has ended already."))
            new = replace(old, state="cancelled")
            work.seasonals.save(new)
            taken = work.seasonals.cancel_queued(seasonal_id, now, "cancelled at the desk")
            log(self._office, work, account, "seasonal.cancelled", new, now, taken_out=taken)
        return taken

    def progress(self, account: Account, seasonal_id: str) -> Progress:
        """Return how far a message has come."""
        need(account, "officer")
        with self._office.work() as work:
            found(work, account, seasonal_id)
        progress = self._seasonal.progress(seasonal_id)
        if progress is None:
            raise unknown()
        return progress

    def left_out(self, account: Account, seasonal_id: str) -> Mapping[str, int]:
        """Return how many plots were left out, by reason (`outreach.LEFT_OUT`)."""
        need(account, "officer")
        with self._office.work() as work:
            found(work, account, seasonal_id)
            reasons = Counter(one.left_out for one, _ in _recipients(work, seasonal_id))
        return {reason: count for reason, count in reasons.most_common() if reason}

    def history(self, account: Account, seasonal_id: str) -> tuple[Step, ...]:
        """Return what was done with a message and by whom, the oldest first."""
        need(account, "officer")
        with self._office.work() as work:
            found(work, account, seasonal_id)
            names = {one.id: one.name for one in work.accounts.all()}
            lines = work.accounts.lines(subject_id=seasonal_id, actions=STEPS, limit=100)
        ordered = sorted(lines, key=lambda line: (line.at, STEPS.index(line.action)))
        return tuple(
            Step(line.at, line.action, names.get(line.account_id or "", ""), _why(line))
            for line in ordered
        )

    def export(self, account: Account, seasonal_id: str, now: datetime) -> str:
        """Return what became of each plot as CSV, numbers masked, formula cells made harmless."""
        need(account, "officer")
        with self._office.work() as work:
            message = found(work, account, seasonal_id)
            log(self._office, work, account, "seasonal.exported", message, now)
            return csv_text(EXPORT_HEADER, self._rows(work, seasonal_id))

    def _rows(self, work: UnitOfWork, seasonal_id: str) -> Iterator[tuple[object, ...]]:
        for recipient, message in _recipients(work, seasonal_id):
            yield _row(work, recipient, message)

    def _moved(
        self,
        account: Account,
        seasonal_id: str,
        now: datetime,
        action: str,
        state: SeasonalState,
        allowed: tuple[SeasonalState, ...],
        change: Callable[[SeasonalMessage], SeasonalMessage] = lambda old: old,
    ) -> SeasonalMessage:
        need(account, "officer")
        with self._office.work() as work:
            old = found(work, account, seasonal_id)
            in_state(old, *allowed)
            new = replace(change(old), state=state)
            work.seasonals.save(new)
            log(self._office, work, account, action, new, now)
        return as_saved(new)


def _recipients(work: UnitOfWork, seasonal_id: str) -> Iterator[tuple[Recipient, Message | None]]:
    after = ""
    while page := work.seasonals.recipients(seasonal_id, after, PAGE):
        yield from page
        after = page[-1][0].plot_id


def _why(line: Audit) -> str:
    return str(line.detail.get("why") or "")


def _row(work: UnitOfWork, recipient: Recipient, message: Message | None) -> tuple[object, ...]:
    plot = work.plots.get(recipient.plot_id)
    return (
        recipient.plot_id,
        masked(work.phones.number(recipient.phone_id) or ""),
        plot.district if plot else "",
        message.state if message else "",
        message.parts if message else "",
        recipient.left_out,
        message.reason if message else "",
    )
