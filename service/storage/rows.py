"""Between a row and a record: the parts that a column cannot hold are JSON text."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from service.records import Phone, Plot, Session, require_aware
from service.storage.tables import phone, plot, session

PHONE_COLUMNS = tuple(column.name for column in phone.columns)
SESSION_COLUMNS = tuple(column.name for column in session.columns)
_FOUND_BY = ("district", "crop")
"""Kept beside the answers that hold them, so that plots can be found by them."""
_LONGEST_NAME = 64
PLOT_COLUMNS = tuple(column.name for column in plot.columns if column.name not in _FOUND_BY)


# Made once: `json.dumps` with such wishes would make an encoder each time.
json_text = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode
read_json = json.JSONDecoder().decode


def phone_row(record: Phone) -> dict[str, Any]:
    """Return the column values of a phone. Raises ValueError for a moment without a zone."""
    require_aware(record.created_at)
    return {name: getattr(record, name) for name in PHONE_COLUMNS}


def session_row(record: Session) -> dict[str, Any]:
    """Return the column values of a session. Raises ValueError for a moment without a zone."""
    require_aware(record.updated_at)
    row = {name: getattr(record, name) for name in SESSION_COLUMNS}
    row["history"] = json_text(record.history)
    row["answers"] = json_text(dict(record.answers))
    row["notice"] = json_text(record.notice)
    return row


def phone_record(values: Sequence[Any]) -> Phone:
    """Return the phone kept in these column values."""
    return Phone(**dict(zip(PHONE_COLUMNS, values, strict=True)))


def session_record(values: Sequence[Any]) -> Session:
    """Return the session kept in these column values."""
    row = dict(zip(SESSION_COLUMNS, values, strict=True))
    row["history"] = tuple((flow, state) for flow, state in read_json(row["history"]))
    row["answers"] = read_json(row["answers"])
    row["notice"] = tuple(read_json(row["notice"]))
    return Session(**row)


def plot_row(record: Plot) -> dict[str, Any]:
    """Return the column values of a plot. Raises ValueError for a moment without a zone."""
    row = {name: getattr(record, name) for name in (*PLOT_COLUMNS, *_FOUND_BY)}
    row["answers"] = json_text(dict(record.answers))
    row |= {name: row[name][:_LONGEST_NAME] for name in _FOUND_BY}
    return row


def plot_record(values: Sequence[Any]) -> Plot:
    """Return the plot kept in these column values."""
    row = dict(zip(PLOT_COLUMNS, values, strict=True))
    row["answers"] = read_json(row["answers"])
    return Plot(**row)
