"""The outbox over SQLAlchemy Core: claims by lease, and receipts that only move forward."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any, NamedTuple, Protocol

from sqlalchemy import Connection, Executable

from service.records import Claimed, Message, Receipt, Settlement, State
from service.records.message import before
from service.storage import outbox_statements as statements
from service.storage.constant import Constant
from service.storage.outbox_statements import (
    MESSAGE_COLUMNS,
    RECEIPT_COLUMNS,
    message_record,
    receipt_record,
)


class Work(Protocol):
    """What the tables need of their unit of work."""

    @property
    def connection(self) -> Connection:
        """The connection, for reading."""

    def write(self, statement: Executable | Constant, values: Mapping[str, Any]) -> int:
        """Run one write and return the number of rows it touched."""

    def write_all(self, statement: Executable, rows: Sequence[Mapping[str, Any]]) -> None:
        """Run one write for each of many rows."""


class SqlOutbox:
    """The table of messages to be sent, with their receipts."""

    def __init__(self, work: Work, dialect: str) -> None:
        self._work, self._dialect = work, dialect

    def add(self, message: Message) -> bool:
        row = {name: getattr(message, name) for name in MESSAGE_COLUMNS}
        return self._work.write(statements.ADD_MESSAGE[self._dialect], row) == 1

    def known(self, keys: Sequence[str]) -> frozenset[str]:
        rows = self._work.connection.execute(statements.KNOWN, {"keys": list(keys)})
        return frozenset(rows.scalars())

    def due(self, now: datetime) -> bool:
        return self._work.connection.execute(statements.DUE, {"now": now}).first() is not None

    def oldest_due(self, now: datetime) -> datetime | None:
        row = self._work.connection.execute(statements.OLDEST_DUE, {"now": now}).first()
        return None if row is None else row[0]

    def doubt(self, now: datetime, next_try: datetime) -> int:
        return self._work.write(statements.DOUBT, {"now": now, "new_try": next_try})

    def claim(self, owner: str, now: datetime, until: datetime, limit: int) -> tuple[Claimed, ...]:
        values = {"owner": owner, "now": now, "until": until, "most": limit}
        if not self._work.write(statements.CLAIM, values):
            return ()
        rows = self._work.connection.execute(statements.CLAIMED, {"owner": owner}).all()
        width = len(MESSAGE_COLUMNS)
        return tuple(Claimed(message_record(row[:width]), *row[width:]) for row in rows)

    def submitting(self, owner: str, until: datetime) -> int:
        return self._work.write(statements.SUBMITTING, {"owner": owner, "until": until})

    def settle(self, message_id: str, owner: str, settlement: Settlement) -> bool:
        values = {
            "same_id": message_id,
            "owner": owner,
            "state": settlement.state,
            "open": settlement.open,
            "next_try": settlement.next_try,
            "attempts": settlement.attempts,
            "resends": settlement.resends,
            "uncertain_since": settlement.uncertain_since,
            "reason": settlement.reason,
            "settled_at": settlement.settled_at,
        }
        settled = self._work.write(statements.SETTLE, values) == 1
        if settled and settlement.nobody and settlement.settled_at is not None:
            self._nobody(message_id, settlement.settled_at)
        self._submitted(message_id, settlement.message_ids)
        return settled

    def accepted(self, message_id: str, part_ids: Sequence[str], at: datetime) -> None:
        for part in part_ids:
            self._kept(message_id, part)
        known = self._parts(message_id)
        if not part_ids or known.all_told:
            self._forward(message_id, "accepted", at)
        self._submitted(message_id, part_ids)

    def awaited(self, number: str) -> tuple[Message, ...]:
        rows = self._work.connection.execute(statements.AWAITED_BY, {"number": number}).all()
        return tuple(message_record(row) for row in rows)

    def unheard(self, before: datetime, now: datetime) -> int:
        return self._work.write(statements.UNHEARD, {"before": before, "now": now})

    def age(self, before: datetime, limit: int) -> int:
        values = {"before": before, "most": limit}
        return sum(self._work.write(one, values) for one in statements.AGE)

    def _submitted(self, message_id: str, part_ids: Sequence[str]) -> None:
        for part in part_ids:
            self._kept(message_id, part)
        # All ids stand before any receipt is looked at: one part alone delivers no message.
        for part in part_ids:
            self._match(part)

    def _kept(self, message_id: str, part: str) -> None:
        values = {"message_id": part, "outbox_id": message_id, "state": "accepted"}
        self._work.write(statements.ADD_SUBMISSION[self._dialect], values)

    def _parts(self, message_id: str) -> Parts:
        asked = {"outbox_id": message_id}
        rows = self._work.connection.execute(statements.SUBMISSIONS, asked).all()
        return Parts(tuple(row[0] for row in rows), rows[0][1] if rows else 1)

    def receive(self, receipt: Receipt) -> bool:
        row = {name: getattr(receipt, name) for name in RECEIPT_COLUMNS}
        self._work.write(statements.ADD_RECEIPT[self._dialect], row)
        return self._apply(receipt)

    def get(self, message_id: str) -> Message | None:
        row = self._work.connection.execute(statements.GET, {"message_id": message_id}).first()
        return None if row is None else message_record(row)

    def of_phone(self, phone_id: str, limit: int = 20) -> tuple[Message, ...]:
        values = {"one_phone": phone_id, "most": limit}
        rows = self._work.connection.execute(statements.LAST_OF_PHONE, values).all()
        return tuple(message_record(row) for row in rows)

    def counts(self) -> dict[State, int]:
        rows = self._work.connection.execute(statements.COUNTS).all()
        return {row[0]: row[1] for row in rows}

    def given_up(self, limit: int = 100) -> tuple[tuple[Message, str], ...]:
        rows = self._work.connection.execute(statements.GIVEN_UP, {"most": limit}).all()
        return tuple((message_record(row[:-1]), row[-1]) for row in rows)

    def _match(self, message_id: str) -> None:
        """Take account of receipts that came before the id that they speak of."""
        values = {"message_id": message_id}
        for row in self._work.connection.execute(statements.RECEIPTS, values).all():
            self._apply(receipt_record(row))

    def _apply(self, receipt: Receipt) -> bool:
        if self.get(receipt.message_id) is not None:
            self._forward(receipt.message_id, receipt.state, receipt.at)
            return True
        asked = {"message_id": receipt.message_id}
        owner = self._work.connection.execute(statements.SUBMISSION, asked).scalar()
        if owner is None:
            return False
        values = {
            "same_id": receipt.message_id,
            "new_state": receipt.state,
            "earlier_states": before(receipt.state),
        }
        self._work.write(statements.SUBMISSION_STATE, values)
        if whole := self._parts(owner).whole:
            self._forward(owner, whole, receipt.at)
        return True

    def _forward(self, message_id: str, state: State, at: datetime) -> None:
        values = {
            "same_id": message_id,
            "new_state": state,
            "settled_at": at,
            "earlier_states": before(state),
        }
        if not self._work.write(statements.FORWARD, values):
            return
        if state == "delivered":
            self._work.write(statements.SOMEBODY, {"same_id": message_id})
        elif state == "failed":
            self._nobody(message_id, at)

    def _nobody(self, message_id: str, at: datetime) -> None:
        """Count the day on which the network said that nobody is at this number."""
        values = {"same_id": message_id, "at": at, "day": day_of(at)}
        self._work.write(statements.NOBODY, values)


def day_of(at: datetime) -> datetime:
    """Return the beginning of a moment's day, by UTC."""
    return at.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)


class Parts(NamedTuple):
    """What became of the parts whose ids a gateway told, and how many parts there are."""

    states: tuple[State, ...]
    of: int

    @property
    def all_told(self) -> bool:
        """Whether the ids of all parts are known."""
        return len(self.states) >= self.of

    @property
    def whole(self) -> State | None:
        """What they make of the message: delivered once all are, failed once one is."""
        found = set(self.states)
        if "failed" in found:
            return "failed"
        if "expired" in found:
            return "expired"
        return "delivered" if found == {"delivered"} and self.all_told else None
