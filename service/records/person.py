"""Somebody behind a phone: several people may share one, and one may have several plots."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Person:
    """A farmer by name. Frozen: a change is a new object, `revision` says which it replaces.

    `groups` are the field officer's own words, such as a cooperative or a village.
    """

    id: str
    phone_id: str
    name: str = field(repr=False)
    created_at: datetime
    groups: tuple[str, ...] = ()
    note: str = field(default="", repr=False)
    revision: int = 0
