"""What becomes old: messages that no receipt came for, and rows that nobody needs any more."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import NamedTuple

from service.records import UnitOfWork, require_aware

RECEIPT_WITHIN = timedelta(days=1)
"""How long after its use has ended a message may wait for its receipt: our own judgement."""
BATCH = 500
"""Most rows of a kind in one transaction, so that callers need not wait for it."""


class Aged(NamedTuple):
    """What was done: messages made unknown, and rows deleted."""

    unknown: int
    outbox: int
    """Messages with the ids of their parts, and receipts."""
    inbound: int
    sessions: int


def age(unit_of_work: Callable[[], UnitOfWork], now: datetime, keep: timedelta) -> Aged:
    """Settle what no receipt came for, and delete what has been settled for longer than `keep`.

    What is still open stays, and so do numbers, plots and the ledger of consent. The keys under
    which a repetition would be known go with the rows. May be run at any time and by several at
    once. Raises ValueError when `now` carries no time zone.
    """
    before = require_aware(now) - keep
    with unit_of_work() as work:
        unknown = work.outbox.unheard(now - RECEIPT_WITHIN, now)
        work.commit()
    return Aged(
        unknown,
        _all(unit_of_work, lambda work: work.outbox.age(before, BATCH)),
        _all(unit_of_work, lambda work: work.inbox.age(before, BATCH)),
        _all(unit_of_work, lambda work: work.sessions.age(before, BATCH)),
    )


def _all(unit_of_work: Callable[[], UnitOfWork], batch: Callable[[UnitOfWork], int]) -> int:
    """Delete batch after batch, each in a transaction of its own."""
    deleted = 0
    while True:
        with unit_of_work() as work:
            gone = batch(work)
            work.commit()
        if not gone:
            return deleted
        deleted += gone
