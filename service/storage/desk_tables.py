"""The tables of the desk and of the reminders, beside those of the conversations."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Date, Float, ForeignKey, Index, Integer, String, Table, Text

from service.storage.tables import Moment, metadata, of_phone, where

person = Table(
    "person",
    metadata,
    Column("id", String(32), primary_key=True),
    of_phone(),
    Column("name", String(120), nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("groups", Text, nullable=False, quote=True),
    Column("note", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Index("person_by_phone", "phone_id"),
)

person_group = Table(
    "person_group",
    metadata,
    Column("person_id", String(32), ForeignKey("person.id"), primary_key=True),
    Column("name", String(120), primary_key=True),
    Index("person_group_by_name", "name"),
)
"""Each group of a person once more, so that a seasonal message finds its members."""

ticket = Table(
    "ticket",
    metadata,
    Column("id", String(32), primary_key=True),
    of_phone(),
    Column("kind", String(16), nullable=False),
    Column("dedupe_key", String(160), nullable=False, unique=True),
    Column("opened_at", Moment, nullable=False),
    Column("matter", Text, nullable=False),
    Column("danger", String(16), nullable=False),
    Column("plot_id", String(32)),
    Column("so_far", Text, nullable=False),
    Column("state", String(16), nullable=False),
    Column("claimed_by", String(32)),
    Column("claimed_at", Moment),
    Column("closed_at", Moment),
    Column("outcome", Text, nullable=False),
    Column("ask_on", Date),
    Column("worked", Boolean),
    Column("revision", Integer, nullable=False),
    Index("ticket_waiting", "opened_at", **where("state <> 'closed'")),
    Index("ticket_by_phone", "phone_id", "opened_at"),
    Index("ticket_opened", "opened_at"),
    Index("ticket_to_ask", "ask_on", **where("ask_on IS NOT NULL AND worked IS NULL")),
)

ticket_note = Table(
    "ticket_note",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("ticket_id", String(32), ForeignKey("ticket.id"), nullable=False),
    Column("account_id", String(32), nullable=False),
    Column("at", Moment, nullable=False),
    Column("text", Text, nullable=False),
    Index("ticket_note_by_ticket", "ticket_id", "at"),
)

rain_report = Table(
    "rain_report",
    metadata,
    Column("district", String(64), primary_key=True),
    Column("day", Date, primary_key=True),
    Column("mm", Float, nullable=False),
    Column("reported_at", Moment, nullable=False),
    Column("account_id", String(32)),
    Index("rain_report_by_day", "day"),
)

account = Table(
    "account",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("name", String(120), nullable=False),
    # The name as it is compared: small letters of every script, by the same rule everywhere.
    Column("name_key", String(240), nullable=False, unique=True),
    Column("roles", Text, nullable=False),
    Column("password_hash", String(255), nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("language", String(16), nullable=False),
    Column("phone", String(80), nullable=False),
    Column("districts", Text, nullable=False),
    Column("active", Boolean, nullable=False),
    Column("epoch", Integer, nullable=False),
    Column("failures", Integer, nullable=False),
    Column("locked_until", Moment),
    Column("revision", Integer, nullable=False),
)

audit = Table(
    "audit",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("at", Moment, nullable=False),
    Column("account_id", String(32)),
    Column("action", String(64), nullable=False),
    Column("subject", String(32), nullable=False),
    Column("subject_id", String(32), nullable=False),
    Column("detail", Text, nullable=False),
    Index("audit_by_time", "at"),
    Index("audit_by_subject", "subject_id", "at"),
    Index("audit_by_account", "account_id", "at"),
)

seasonal = Table(
    "seasonal",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("title", String(200), nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("created_by", String(32), nullable=False),
    Column("audience", Text, nullable=False),
    Column("texts", Text, nullable=False),
    Column("state", String(16), nullable=False),
    Column("changed_by", String(32), nullable=False),
    Column("approved_by", String(32)),
    Column("approved_at", Moment),
    Column("starts_at", Moment),
    Column("cursor", String(64), nullable=False, quote=True),
    Column("planned", Integer, nullable=False),
    Column("skipped", Integer, nullable=False),
    Column("revision", Integer, nullable=False),
    Index("seasonal_by_time", "created_at"),
)

seasonal_recipient = Table(
    "seasonal_recipient",
    metadata,
    Column("seasonal_id", String(32), ForeignKey("seasonal.id"), primary_key=True),
    Column("plot_id", String(32), primary_key=True),
    of_phone(),
    Column("message_id", String(32)),
    Column("left_out", String(64), nullable=False),
    Index("seasonal_recipient_by_phone", "phone_id"),
)

reminder_choice = Table(
    "reminder_choice",
    metadata,
    Column("phone_id", String(32), ForeignKey("phone.id"), primary_key=True),
    Column("hour", Integer, nullable=False, quote=True),
    Column("weekday", Integer, nullable=False),
    Column("chosen_at", Moment, nullable=False),
)
