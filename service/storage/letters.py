"""Texts that came in and the ledger of consent, over SQLAlchemy Core."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import (
    Delete,
    Insert,
    Select,
    Update,
    bindparam,
    delete,
    func,
    insert,
    select,
    update,
)

from service.records import ConcurrentChange, Consent, Inbound, Purpose, Review
from service.storage.outbox import Work
from service.storage.outbox_statements import consent_record
from service.storage.tables import consent, inbound, review


def _add(table: Any) -> Insert:
    made: Insert = insert(table).values(
        {column.name: bindparam(column.name, type_=column.type) for column in table.columns}
    )
    return made


def _row(record: object, table: Any) -> dict[str, Any]:
    return {column.name: getattr(record, column.name) for column in table.columns}


_FIND: Select[Any] = select(*inbound.columns).where(
    inbound.c.gateway == bindparam("gateway"), inbound.c.message_id == bindparam("message_id")
)
_ADD_INBOUND, _ADD_CONSENT, _ADD_REVIEW = _add(inbound), _add(consent), _add(review)

_WAITING: Select[Any] = (
    select(*inbound.columns)
    .where(
        inbound.c.taken_at.is_(None),
        inbound.c.phone_id == bindparam("phone_id"),
        inbound.c.reference == bindparam("reference"),
        inbound.c.parts == bindparam("parts"),
        inbound.c.recipient == bindparam("recipient"),
        inbound.c.gateway == bindparam("gateway"),
        inbound.c.received_at >= bindparam("since", type_=inbound.c.received_at.type),
    )
    .order_by(inbound.c.part, inbound.c.received_at)
)
_TAKE: Update = (
    update(inbound)
    .where(inbound.c.id == bindparam("same_id"), inbound.c.taken_at.is_(None))
    .values(taken_at=bindparam("at", type_=inbound.c.taken_at.type))
)
_first_parts = (
    select(func.min(inbound.c.id))
    .where(
        inbound.c.taken_at.is_(None),
        inbound.c.received_at < bindparam("before", type_=inbound.c.received_at.type),
    )
    .group_by(
        inbound.c.gateway,
        inbound.c.phone_id,
        inbound.c.recipient,
        inbound.c.reference,
        inbound.c.parts,
    )
)
_OVERDUE: Select[Any] = select(*inbound.columns).where(inbound.c.id.in_(_first_parts))

_AGE: Delete = delete(inbound).where(
    inbound.c.id.in_(
        select(inbound.c.id)
        .where(inbound.c.received_at < bindparam("before", type_=inbound.c.received_at.type))
        .limit(bindparam("most"))
    )
)

_LATEST: Select[Any] = (
    select(*consent.columns)
    .where(consent.c.phone_id == bindparam("phone_id"), consent.c.purpose == bindparam("purpose"))
    .order_by(consent.c.at.desc(), consent.c.id.desc())
    .limit(1)
)
_REVIEWS: Select[Any] = (
    select(*review.columns)
    .where(review.c.settled_at.is_(None))
    .order_by(review.c.at, review.c.id)
    .limit(bindparam("most"))
)


_LAST_OF_PHONE: Select[Any] = (
    select(*inbound.columns)
    .where(inbound.c.phone_id == bindparam("phone_id"))
    .order_by(inbound.c.received_at.desc(), inbound.c.id.desc())
    .limit(bindparam("most"))
)
_CONSENTS_OF: Select[Any] = (
    select(*consent.columns)
    .where(consent.c.phone_id == bindparam("phone_id"))
    .order_by(consent.c.at.desc(), consent.c.id.desc())
)
_SETTLE_REVIEW: Update = (
    update(review)
    .where(review.c.id == bindparam("same_id"), review.c.settled_at.is_(None))
    .values(settled_at=bindparam("settled", type_=review.c.settled_at.type))
)


class SqlInbox:
    """The table of texts that came in."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def find(self, gateway: str, message_id: str) -> Inbound | None:
        values = {"gateway": gateway, "message_id": message_id}
        row = self._work.connection.execute(_FIND, values).first()
        return None if row is None else Inbound(**row._mapping)

    def add(self, inbound_: Inbound) -> None:
        self._work.write(_ADD_INBOUND, _row(inbound_, inbound))

    def waiting(self, like: Inbound, since: datetime) -> tuple[Inbound, ...]:
        values = {
            "phone_id": like.phone_id,
            "reference": like.reference,
            "parts": like.parts,
            "recipient": like.recipient,
            "gateway": like.gateway,
            "since": since,
        }
        rows = self._work.connection.execute(_WAITING, values).all()
        return tuple(Inbound(**row._mapping) for row in rows)

    def take(self, inbound_: Sequence[Inbound], at: datetime) -> None:
        for one in inbound_:
            if self._work.write(_TAKE, {"same_id": one.id, "at": at}) != 1:
                raise ConcurrentChange("a part of this text was taken by another")

    def overdue(self, before: datetime) -> tuple[Inbound, ...]:
        rows = self._work.connection.execute(_OVERDUE, {"before": before}).all()
        return tuple(Inbound(**row._mapping) for row in rows)

    def of_phone(self, phone_id: str, limit: int = 20) -> tuple[Inbound, ...]:
        values = {"phone_id": phone_id, "most": limit}
        rows = self._work.connection.execute(_LAST_OF_PHONE, values).all()
        return tuple(Inbound(**row._mapping) for row in rows)

    def age(self, before: datetime, limit: int) -> int:
        return self._work.write(_AGE, {"before": before, "most": limit})


class SqlConsents:
    """The ledger of consent, and what a person should look at."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add_all(self, consents: Sequence[Consent]) -> None:
        self._work.write_all(_ADD_CONSENT, [_row(one, consent) for one in consents])

    def add(self, consent_: Consent) -> None:
        self._work.write(_ADD_CONSENT, _row(consent_, consent))

    def latest(self, phone_id: str, purpose: Purpose = "reminders") -> Consent | None:
        values = {"phone_id": phone_id, "purpose": purpose}
        row = self._work.connection.execute(_LATEST, values).first()
        return None if row is None else consent_record(row)

    def of_phone(self, phone_id: str) -> tuple[Consent, ...]:
        rows = self._work.connection.execute(_CONSENTS_OF, {"phone_id": phone_id}).all()
        return tuple(consent_record(row) for row in rows)

    def settle_review(self, review_id: str, at: datetime) -> None:
        self._work.write(_SETTLE_REVIEW, {"same_id": review_id, "settled": at})

    def add_review(self, review_: Review) -> None:
        self._work.write(_ADD_REVIEW, _row(review_, review))

    def reviews(self, limit: int = 100) -> tuple[Review, ...]:
        rows = self._work.connection.execute(_REVIEWS, {"most": limit}).all()
        return tuple(Review(**row._mapping) for row in rows)
