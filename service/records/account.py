"""Who may sign in at the desk, and the log of what they saw and changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, TypeAlias

Role: TypeAlias = Literal["operator", "officer", "admin"]
ROLES: tuple[Role, ...] = ("operator", "officer", "admin")


@dataclass(frozen=True, slots=True)
class Account:
    """Somebody who works at the desk. Frozen: `revision` says which version a change replaces.

    `districts` limits a field officer to some; empty means all. `epoch` goes up when every open
    sitting must end, as after a new password. `failures` counts wrong passwords since the last
    right one, `locked_until` is set when there were too many.
    """

    id: str
    name: str
    roles: tuple[Role, ...]
    password_hash: str = field(repr=False)
    created_at: datetime
    language: str = "en"
    phone: str = field(default="", repr=False)
    districts: tuple[str, ...] = ()
    active: bool = True
    epoch: int = 0
    failures: int = 0
    locked_until: datetime | None = None
    revision: int = 0


@dataclass(frozen=True, slots=True)
class Audit:
    """One line of the log: who did what to what. `detail` never holds a phone number."""

    id: str
    at: datetime
    account_id: str | None
    action: str
    subject: str = ""
    subject_id: str = ""
    detail: Mapping[str, object] = field(default_factory=dict)
