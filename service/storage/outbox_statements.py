"""The statements of the outbox, built once. Times and limits are parameters."""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    Delete,
    Insert,
    Select,
    Update,
    and_,
    bindparam,
    case,
    delete,
    exists,
    func,
    or_,
    select,
    text,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite

from service.records import Consent, Message, Receipt, State
from service.storage.constant import Constant
from service.storage.desk_tables import seasonal
from service.storage.tables import AWAITED, consent, outbox, phone, plot, receipt, submission

_ACTING: tuple[State, ...] = ("queued", "leased", "uncertain")
"""States in which a row that is due may be taken: nobody is submitting it."""

_HELD = ("paused", "cancelled")
"""States of a seasonal message in which none of its messages leaves."""

_earlier = outbox.alias("earlier")
# Spelt as in the partial indexes: with "open = 1", as SQLite gets a boolean column otherwise,
# it would use none of them.
_OPEN = text("outbox.open")
_EARLIER_OPEN = text("earlier.open")
_NOW = bindparam("now", type_=outbox.c.next_try.type)

# Of one phone, whatever was to leave earlier and is as urgent goes first. What is less urgent
# holds nothing up: an answer overtakes a reminder.


def _not_paused(rows: Any) -> Any:
    """Whether a row belongs to no seasonal message that is paused or cancelled."""
    held = exists().where(seasonal.c.id == rows.c.batch, seasonal.c.state.in_(_HELD))
    return or_(rows.c.batch == "", ~held)


_HELD_UP = exists().where(
    _earlier.c.phone_id == outbox.c.phone_id,
    _EARLIER_OPEN,
    _earlier.c.priority <= outbox.c.priority,
    _earlier.c.id != outbox.c.id,
    _not_paused(_earlier),
    or_(
        _earlier.c.not_before < outbox.c.not_before,
        (_earlier.c.not_before == outbox.c.not_before)
        & (
            (_earlier.c.created_at < outbox.c.created_at)
            | (
                (_earlier.c.created_at == outbox.c.created_at)
                & (
                    (_earlier.c.place < outbox.c.place)
                    | ((_earlier.c.place == outbox.c.place) & (_earlier.c.id < outbox.c.id))
                )
            )
        ),
    ),
)

_ORDER = (outbox.c.priority, outbox.c.not_before, outbox.c.created_at, outbox.c.place, outbox.c.id)

DUE: Select[Any] = select(outbox.c.id).where(_OPEN, outbox.c.next_try <= _NOW).limit(1)

OLDEST_DUE: Select[Any] = (
    select(outbox.c.not_before)
    .where(_OPEN, outbox.c.next_try <= _NOW)
    .order_by(outbox.c.not_before)
    .limit(1)
)

DOUBT: Update = (
    update(outbox)
    .where(_OPEN, outbox.c.state == "submitting", outbox.c.next_try <= _NOW)
    .values(
        state="uncertain",
        uncertain_since=func.coalesce(outbox.c.uncertain_since, _NOW),
        next_try=bindparam("new_try", type_=outbox.c.next_try.type),
    )
)

# Chosen once, before anything is written: within the condition of the update PostgreSQL may choose
# anew for every row that it looks at, passing over what is taken already, and lease them all.
_CHOSEN = (
    select(outbox.c.id)
    .where(
        _OPEN,
        outbox.c.next_try <= _NOW,
        outbox.c.state.in_(_ACTING),
        _not_paused(outbox),
        ~_HELD_UP,
    )
    .order_by(*_ORDER)
    .limit(bindparam("most"))
    .with_for_update(skip_locked=True, of=outbox)
    .cte("chosen")
    .prefix_with("MATERIALIZED", dialect="postgresql")
)
CLAIM: Update = (
    update(outbox)
    .where(outbox.c.id.in_(select(_CHOSEN.c.id)))
    .values(
        state="leased",
        lease_owner=bindparam("owner"),
        next_try=bindparam("until", type_=outbox.c.next_try.type),
    )
)

_LAST_WORD = (
    select(consent.c.given)
    .where(consent.c.phone_id == outbox.c.phone_id, consent.c.purpose == "reminders")
    .order_by(consent.c.at.desc(), consent.c.id.desc())
    .limit(1)
    .scalar_subquery()
)

CLAIMED: Select[Any] = (
    select(
        *outbox.columns,
        phone.c.number,
        _LAST_WORD,
        phone.c.failed_days,
        # Where the phone's plot is, so that its clock and holidays are kept.
        func.coalesce(plot.c.district, ""),
    )
    .join(phone, phone.c.id == outbox.c.phone_id)
    .outerjoin(plot, and_(plot.c.phone_id == phone.c.id, text('plot."current"')))
    .where(outbox.c.lease_owner == bindparam("owner"), _OPEN, outbox.c.state == "leased")
    .order_by(*_ORDER)
)

SUBMITTING: Update = (
    update(outbox)
    .where(
        outbox.c.lease_owner == bindparam("owner"),
        _OPEN,
        outbox.c.state == "leased",
    )
    .values(
        state="submitting",
        attempts=outbox.c.attempts + 1,
        # Counted before the bytes leave: whoever dies now has still sent it again.
        resends=outbox.c.resends + case((outbox.c.uncertain_since.is_not(None), 1), else_=0),
        next_try=bindparam("until", type_=outbox.c.next_try.type),
    )
)

_SETTLED = (
    "state", "open", "next_try", "attempts", "resends", "uncertain_since", "reason", "settled_at"
)  # fmt: skip

SETTLE = Constant(
    update(outbox)
    .where(
        outbox.c.id == bindparam("same_id"),
        outbox.c.lease_owner == bindparam("owner"),
        or_(outbox.c.state == "leased", outbox.c.state == "submitting"),
    )
    .values({name: bindparam(name, type_=outbox.c[name].type) for name in _SETTLED})
)

FORWARD: Update = (
    update(outbox)
    .where(
        outbox.c.id == bindparam("same_id"),
        outbox.c.state.in_(bindparam("earlier_states", expanding=True)),
    )
    .values(
        state=bindparam("new_state"),
        open=False,
        settled_at=bindparam("settled_at", type_=outbox.c.settled_at.type),
    )
)

GET: Select[Any] = select(*outbox.columns).where(outbox.c.id == bindparam("message_id"))

LAST_OF_PHONE: Select[Any] = (
    select(*outbox.columns)
    .where(outbox.c.phone_id == bindparam("one_phone"))
    .order_by(outbox.c.created_at.desc(), outbox.c.place.desc(), outbox.c.id.desc())
    .limit(bindparam("most"))
)

KNOWN: Select[Any] = select(outbox.c.dedupe_key).where(
    outbox.c.dedupe_key.in_(bindparam("keys", expanding=True))
)

COUNTS: Select[Any] = select(outbox.c.state, func.count()).group_by(outbox.c.state)

GIVEN_UP_STATES: tuple[State, ...] = ("failed", "expired", "uncertain", "unknown")
"""States in which nothing more is done, though the message may never have arrived."""

GIVEN_UP: Select[Any] = (
    select(*outbox.columns, phone.c.number)
    .join(phone, phone.c.id == outbox.c.phone_id)
    .where(~outbox.c.open, outbox.c.state.in_(GIVEN_UP_STATES))
    .order_by(outbox.c.settled_at.desc(), outbox.c.id)
    .limit(bindparam("most"))
)

SUBMISSION: Select[Any] = select(submission.c.outbox_id).where(
    submission.c.message_id == bindparam("message_id")
)

SUBMISSION_STATE: Update = (
    update(submission)
    .where(
        submission.c.message_id == bindparam("same_id"),
        submission.c.state.in_(bindparam("earlier_states", expanding=True)),
    )
    .values(state=bindparam("new_state"))
)

SUBMISSIONS: Select[Any] = (
    select(submission.c.state, outbox.c.parts)
    .join(outbox, outbox.c.id == submission.c.outbox_id)
    .where(submission.c.outbox_id == bindparam("outbox_id"))
)

# Spelt as in the partial index, which neither database would use otherwise.
_AWAITED = text(f"outbox.{AWAITED}")

AWAITED_BY: Select[Any] = (
    select(*outbox.columns)
    .join(phone, phone.c.id == outbox.c.phone_id)
    .where(phone.c.number == bindparam("number"), _AWAITED)
    .order_by(outbox.c.created_at.desc(), outbox.c.id)
    .limit(50)
)

UNHEARD: Update = (
    update(outbox)
    .where(
        text(AWAITED),
        outbox.c.state == "accepted",
        outbox.c.not_after < bindparam("before", type_=outbox.c.not_after.type),
    )
    .values(
        state="unknown",
        reason="no receipt came",
        settled_at=bindparam("now", type_=outbox.c.settled_at.type),
    )
)

_AGED = (
    select(outbox.c.id)
    .where(
        ~outbox.c.open,
        outbox.c.settled_at < bindparam("before", type_=outbox.c.settled_at.type),
    )
    .order_by(outbox.c.settled_at, outbox.c.id)
    .limit(bindparam("most"))
)
_AGED_RECEIPTS = (
    select(receipt.c.id)
    .where(receipt.c.received_at < bindparam("before", type_=receipt.c.received_at.type))
    .order_by(receipt.c.received_at)
    .limit(bindparam("most"))
)
# In this order: the ids of the parts refer to the message.
AGE: tuple[Delete, ...] = (
    delete(submission).where(submission.c.outbox_id.in_(_AGED)),
    delete(outbox).where(outbox.c.id.in_(_AGED)),
    delete(receipt).where(receipt.c.id.in_(_AGED_RECEIPTS)),
)

NOBODY: Update = (
    update(phone)
    .where(
        phone.c.id
        == select(outbox.c.phone_id).where(outbox.c.id == bindparam("same_id")).scalar_subquery(),
        or_(
            phone.c.failed_on.is_(None),
            phone.c.failed_on < bindparam("day", type_=phone.c.failed_on.type),
        ),
    )
    .values(
        failed_days=phone.c.failed_days + 1,
        failed_on=bindparam("at", type_=phone.c.failed_on.type),
    )
)

SOMEBODY: Update = (
    update(phone)
    .where(
        phone.c.id
        == select(outbox.c.phone_id).where(outbox.c.id == bindparam("same_id")).scalar_subquery(),
        phone.c.failed_days > 0,
    )
    .values(failed_days=0, failed_on=None)
)

RECEIPTS: Select[Any] = (
    select(*receipt.columns)
    .where(receipt.c.message_id == bindparam("message_id"))
    .order_by(receipt.c.received_at, receipt.c.id)
)


def unless_kept(table: Any, dialect: str) -> Insert:
    """Return an insert that leaves a row of the same key alone; each database has its own."""
    maker = sqlite if dialect == "sqlite" else postgresql
    values = {column.name: bindparam(column.name, type_=column.type) for column in table.columns}
    made: Insert = maker.insert(table).values(values).on_conflict_do_nothing()
    # Without this SQLAlchemy does not ask how many rows an insert made.
    return made.execution_options(preserve_rowcount=True)


ADD_MESSAGE = {name: unless_kept(outbox, name) for name in ("sqlite", "postgresql")}
ADD_SUBMISSION = {name: unless_kept(submission, name) for name in ("sqlite", "postgresql")}
ADD_RECEIPT = {name: unless_kept(receipt, name) for name in ("sqlite", "postgresql")}

MESSAGE_COLUMNS = tuple(column.name for column in outbox.columns)
RECEIPT_COLUMNS = tuple(column.name for column in receipt.columns)
CONSENT_COLUMNS = tuple(column.name for column in consent.columns)


def message_record(values: Any) -> Message:
    """Return the message kept in these column values."""
    return Message(**dict(zip(MESSAGE_COLUMNS, values, strict=True)))


def receipt_record(values: Any) -> Receipt:
    """Return the receipt kept in these column values."""
    return Receipt(**dict(zip(RECEIPT_COLUMNS, values, strict=True)))


def consent_record(values: Any) -> Consent:
    """Return the line of the ledger kept in these column values."""
    return Consent(**dict(zip(CONSENT_COLUMNS, values, strict=True)))
