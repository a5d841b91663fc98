"""Seasonal messages and their recipients, over SQLAlchemy Core."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from sqlalchemy import Select, bindparam, func, select, text, update

from service.records import Audience, Message, Recipient, SeasonalMessage
from service.storage.desk_tables import seasonal, seasonal_recipient
from service.storage.kept_rows import KeptRows
from service.storage.outbox import Work
from service.storage.outbox_statements import message_record, unless_kept
from service.storage.tables import outbox


def _audience(values: Mapping[str, Sequence[str]]) -> Audience:
    return Audience(**{name: tuple(each) for name, each in values.items()})


SEASONALS = KeptRows(
    seasonal, SeasonalMessage, {"audience": (asdict, _audience), "texts": (dict, dict)}
)
RECIPIENTS = KeptRows(seasonal_recipient, Recipient)

_ONE: Select[Any] = select(*SEASONALS.columns).where(seasonal.c.id == bindparam("one_id"))
_ALL: Select[Any] = (
    select(*SEASONALS.columns)
    .order_by(seasonal.c.created_at.desc(), seasonal.c.id.desc())
    .limit(bindparam("most"))
)
_WITH_MESSAGE = seasonal_recipient.outerjoin(outbox, outbox.c.id == seasonal_recipient.c.message_id)
_RECIPIENTS: Select[Any] = (
    select(*RECIPIENTS.columns, *outbox.columns)
    .select_from(_WITH_MESSAGE)
    .where(
        seasonal_recipient.c.seasonal_id == bindparam("one_id"),
        seasonal_recipient.c.plot_id > bindparam("after"),
    )
    .order_by(seasonal_recipient.c.plot_id)
    .limit(bindparam("most"))
)
_PROGRESS: Select[Any] = (
    select(outbox.c.state, func.count())
    .select_from(_WITH_MESSAGE)
    .where(seasonal_recipient.c.seasonal_id == bindparam("one_id"))
    .group_by(outbox.c.state)
)
# Spelt as in the partial indexes.
_IN_BATCH = (outbox.c.batch == bindparam("one_id"), text("outbox.batch <> ''"))
_STILL_WAITING: Select[int] = select(func.count()).where(*_IN_BATCH, text("outbox.open"))
_CANCEL = (
    update(outbox)
    .where(*_IN_BATCH, outbox.c.state == "queued")
    .values(
        state="failed",
        open=False,
        reason=bindparam("new_reason"),
        settled_at=bindparam("at", type_=outbox.c.settled_at.type),
    )
)


class SqlSeasonals:
    """Seasonal messages and their recipients."""

    def __init__(self, work: Work, dialect: str) -> None:
        self._work, self._dialect = work, dialect

    def add(self, message: SeasonalMessage) -> None:
        self._work.write(SEASONALS.add, SEASONALS.row(message))

    def save(self, message: SeasonalMessage) -> None:
        SEASONALS.save(self._work, message)

    def get(self, seasonal_id: str) -> SeasonalMessage | None:
        return SEASONALS.first(self._work, _ONE, {"one_id": seasonal_id})

    def all(self, limit: int = 100) -> tuple[SeasonalMessage, ...]:
        return SEASONALS.all(self._work, _ALL, {"most": limit})

    def add_recipients(self, recipients: Sequence[Recipient]) -> None:
        once = unless_kept(seasonal_recipient, self._dialect)
        for recipient in recipients:
            self._work.write(once, RECIPIENTS.row(recipient))

    def recipients(
        self, seasonal_id: str, after: str, limit: int
    ) -> tuple[tuple[Recipient, Message | None], ...]:
        values = {"one_id": seasonal_id, "after": after, "most": limit}
        rows = self._work.connection.execute(_RECIPIENTS, values).all()
        width = len(RECIPIENTS.columns)
        return tuple(
            (RECIPIENTS.record(row), message_record(row[width:]) if row[width] else None)
            for row in rows
        )

    def progress(self, seasonal_id: str) -> dict[str, int]:
        rows = self._work.connection.execute(_PROGRESS, {"one_id": seasonal_id}).all()
        return {row[0] or "left_out": row[1] for row in rows}

    def waiting(self, seasonal_id: str) -> int:
        found = self._work.connection.execute(_STILL_WAITING, {"one_id": seasonal_id})
        return int(found.scalar_one())

    def cancel_queued(self, seasonal_id: str, at: datetime, reason: str) -> int:
        values = {"one_id": seasonal_id, "at": at, "new_reason": reason}
        return self._work.write(_CANCEL, values)
