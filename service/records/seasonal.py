"""A seasonal message of a field officer, whom it is for, and what became of it for each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, TypeAlias

SeasonalState: TypeAlias = Literal[
    "draft", "waiting", "approved", "running", "paused", "cancelled", "done"
]


@dataclass(frozen=True, slots=True)
class Audience:
    """Which plots a seasonal message is for. An empty tuple means every one."""

    districts: tuple[str, ...] = ()
    crops: tuple[str, ...] = ()
    stages: tuple[str, ...] = ()
    languages: tuple[str, ...] = ()
    groups: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SeasonalMessage:
    """A message to many. Frozen: `revision` says which version a change replaces.

    `texts` holds the words by language, with named placeholders for the farmer's own numbers.
    `cursor` is the plot after which the next batch begins. `starts_at` is the earliest moment of
    sending. `changed_by` prepared the words as they are; another account approves.
    """

    id: str
    title: str
    created_at: datetime
    created_by: str
    audience: Audience = Audience()
    texts: Mapping[str, str] = field(default_factory=dict)
    state: SeasonalState = "draft"
    changed_by: str = ""
    approved_by: str | None = None
    approved_at: datetime | None = None
    starts_at: datetime | None = None
    cursor: str = ""
    planned: int = 0
    skipped: int = 0
    revision: int = 0


@dataclass(frozen=True, slots=True)
class Recipient:
    """One plot that a seasonal message was for: its row in the outbox, or why it was left out."""

    seasonal_id: str
    plot_id: str
    phone_id: str
    message_id: str | None = None
    left_out: str = ""


@dataclass(frozen=True, slots=True)
class ReminderChoice:
    """When a phone wants its weekly reminder: hour of the day, day of the week (Monday is 0)."""

    phone_id: str
    hour: int
    weekday: int
    chosen_at: datetime
