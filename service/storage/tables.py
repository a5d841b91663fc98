"""The tables as SQLAlchemy sees them. The migrations make them; a test holds the two together."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    text,
)
from sqlalchemy.types import TIMESTAMP, TypeDecorator, TypeEngine

from service.records import require_aware


class Moment(TypeDecorator[datetime]):
    """An instant: a column with time zone where there is one, else ISO text in UTC.

    The text always has microseconds and the same offset, so that it sorts as the time does.
    """

    impl = TIMESTAMP(timezone=True)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[datetime]:
        if dialect.name == "sqlite":
            return dialect.type_descriptor(String(32))  # type: ignore[arg-type]
        return dialect.type_descriptor(TIMESTAMP(timezone=True))

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        moment = require_aware(value).astimezone(UTC)
        if dialect.name == "sqlite":
            return moment.isoformat(timespec="microseconds")  # type: ignore[return-value]
        return moment

    def process_result_value(self, value: object, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        moment = datetime.fromisoformat(value) if isinstance(value, str) else value
        if not isinstance(moment, datetime):
            raise TypeError(f"not a moment in the database: {value!r}")
        return moment.astimezone(UTC)


metadata = MetaData()

phone = Table(
    "phone",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("number", String(80), nullable=False, unique=True),
    Column("language", String(16)),
    Column("created_at", Moment, nullable=False),
    Column("failed_days", Integer, nullable=False, server_default=text("0")),
    Column("failed_on", Moment),
)

session = Table(
    "session",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("phone_id", String(32), ForeignKey("phone.id"), nullable=False),
    Column("plot_id", String(32)),
    Column("channel", String(16), nullable=False),
    Column("gateway_session", String(128), nullable=False),
    Column("flow", String(64), nullable=False),
    Column("flow_version", String(16), nullable=False),
    Column("state", String(64), nullable=False),
    Column("history", Text, nullable=False),
    Column("answers", Text, nullable=False),
    Column("language", String(16), nullable=False),
    Column("page", Integer, nullable=False),
    Column("misreads", Integer, nullable=False),
    Column("notice", Text, nullable=False),
    Column("owner", String(16), nullable=False),
    Column("open", Boolean, nullable=False),
    Column("offering", Boolean, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("last_step", Integer, nullable=False),
    Column("last_body_hash", String(64), nullable=False),
    Column("last_reply", Text, nullable=False),
    Column("last_more", Boolean, nullable=False),
    Column("updated_at", Moment, nullable=False),
    Index("session_by_gateway", "channel", "gateway_session", unique=True),
    Index(
        "session_open",
        "phone_id",
        "channel",
        unique=True,
        sqlite_where=text("open"),
        postgresql_where=text("open"),
    ),
    Index("session_by_phone", "phone_id", "channel"),
)


def where(condition: str) -> dict[str, Any]:
    """The condition of a partial index, in both databases."""
    return {"sqlite_where": text(condition), "postgresql_where": text(condition)}


def of_phone() -> Column[str]:
    """The phone that a row belongs to."""
    return Column("phone_id", String(32), ForeignKey("phone.id"), nullable=False)


AWAITED = "state IN ('submitting', 'uncertain', 'accepted')"
"""Has left, and may still be settled by a receipt."""

plot = Table(
    "plot",
    metadata,
    Column("id", String(32), primary_key=True),
    of_phone(),
    Column("created_at", Moment, nullable=False),
    Column("updated_at", Moment, nullable=False),
    Column("name", String(64), nullable=False),
    Column("answers", Text, nullable=False),
    Column("calibration", Float),
    Column("current", Boolean, nullable=False, quote=True),
    Column("revision", Integer, nullable=False),
    Column("person_id", String(32)),
    Column("district", String(64), nullable=False, server_default=text("''")),
    Column("crop", String(64), nullable=False, server_default=text("''")),
    Index("plot_current", "phone_id", unique=True, **where('"current"')),
    Index("plot_by_phone", "phone_id"),
    Index("plot_of_district", "district", "id", **where('"current"')),
    Index("plot_in_order", "id", **where('"current"')),
)

inbound = Table(
    "inbound",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("gateway", String(16), nullable=False),
    Column("message_id", String(128), nullable=False),
    of_phone(),
    Column("recipient", String(32), nullable=False),
    Column("body_hash", String(64), nullable=False),
    Column("text", Text, nullable=False),
    Column("received_at", Moment, nullable=False),
    Column("reference", Integer),
    Column("part", Integer, nullable=False),
    Column("parts", Integer, nullable=False),
    Column("taken_at", Moment),
    Index("inbound_by_gateway", "gateway", "message_id", unique=True),
    Index("inbound_of_phone", "phone_id", "received_at"),
    Index("inbound_waiting", "phone_id", "reference", **where("taken_at IS NULL")),
)

consent = Table(
    "consent",
    metadata,
    Column("id", String(32), primary_key=True),
    of_phone(),
    Column("at", Moment, nullable=False),
    Column("given", Boolean, nullable=False),
    Column("words", Text, nullable=False),
    Column("channel", String(16), nullable=False),
    Column("purpose", String(16), nullable=False),
    Column("by", String(16), nullable=False),
    Index("consent_by_phone", "phone_id", "purpose", "at"),
)

review = Table(
    "review",
    metadata,
    Column("id", String(32), primary_key=True),
    of_phone(),
    Column("at", Moment, nullable=False),
    Column("words", Text, nullable=False),
    Column("channel", String(16), nullable=False),
    Column("settled_at", Moment),
    Index("review_of_phone", "phone_id"),
    Index("review_open", "at", **where("settled_at IS NULL")),
)

outbox = Table(
    "outbox",
    metadata,
    Column("id", String(32), primary_key=True),
    of_phone(),
    Column("channel", String(16), nullable=False),
    Column("kind", String(16), nullable=False),
    Column("dedupe_key", String(160), nullable=False),
    Column("text", Text, nullable=False),
    Column("language", String(16), nullable=False),
    Column("encoding", String(8), nullable=False),
    Column("parts", Integer, nullable=False),
    Column("priority", Integer, nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("place", Integer, nullable=False),
    Column("not_before", Moment, nullable=False),
    Column("not_after", Moment, nullable=False),
    Column("next_try", Moment, nullable=False),
    Column("sender", String(32), nullable=False),
    Column("state", String(16), nullable=False),
    Column("open", Boolean, nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("resends", Integer, nullable=False),
    Column("uncertain_since", Moment),
    Column("lease_owner", String(32), nullable=False),
    Column("reason", Text, nullable=False),
    Column("settled_at", Moment),
    Column("batch", String(32), nullable=False, server_default=text("''")),
    Index("outbox_by_key", "dedupe_key", unique=True),
    Index("outbox_due", "next_try", **where("open")),
    Index("outbox_urgent", "priority", "not_before", "created_at", "place", **where("open")),
    Index("outbox_of_phone", "phone_id", "not_before", **where("open")),
    Index("outbox_leased", "lease_owner", **where("open")),
    Index("outbox_settled", "settled_at"),
    Index("outbox_of_batch", "batch", "state", **where("batch <> ''")),
    Index("outbox_last_of_phone", "phone_id", "created_at"),
    Index("outbox_awaited", "phone_id", "not_after", **where(AWAITED)),
)

submission = Table(
    "submission",
    metadata,
    Column("message_id", String(80), primary_key=True),
    Column("outbox_id", String(32), ForeignKey("outbox.id"), nullable=False),
    Column("state", String(16), nullable=False),
    Index("submission_by_message", "outbox_id"),
)

receipt = Table(
    "receipt",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("message_id", String(80), nullable=False),
    Column("state", String(16), nullable=False),
    Column("at", Moment, nullable=False),
    Column("received_at", Moment, nullable=False),
    Index("receipt_once", "message_id", "state", unique=True),
    Index("receipt_age", "received_at"),
)

schema_version = Table(
    "schema_version",
    metadata,
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("name", String(128), nullable=False),
)
"""Where releases before Alembic noted the steps taken; now it tells them that they are too old."""

# Alembic makes it and writes it, so it stands apart from ours.
alembic_version = Table(
    "alembic_version", MetaData(), Column("version_num", String(32), primary_key=True)
)
