"""What the store in memory holds, and what its tables need of their unit of work."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple, Protocol, TypeAlias

from service.records import (
    Account,
    Audit,
    Consent,
    Inbound,
    Message,
    Person,
    Phone,
    Plot,
    RainReport,
    Receipt,
    ReceiptState,
    Recipient,
    ReminderChoice,
    Review,
    SeasonalMessage,
    Session,
    Ticket,
    TicketNote,
)


class Submission(NamedTuple):
    """A gateway's id for a part of a message."""

    outbox_id: str
    state: ReceiptState


@dataclass(slots=True)
class State:
    """Every table, by id."""

    phones: dict[str, Phone] = field(default_factory=dict)
    sessions: dict[str, Session] = field(default_factory=dict)
    plots: dict[str, Plot] = field(default_factory=dict)
    inbound: dict[str, Inbound] = field(default_factory=dict)
    consents: dict[str, Consent] = field(default_factory=dict)
    reviews: dict[str, Review] = field(default_factory=dict)
    outbox: dict[str, Message] = field(default_factory=dict)
    submissions: dict[str, Submission] = field(default_factory=dict)
    receipts: dict[str, Receipt] = field(default_factory=dict)
    people: dict[str, Person] = field(default_factory=dict)
    tickets: dict[str, Ticket] = field(default_factory=dict)
    notes: dict[str, TicketNote] = field(default_factory=dict)
    rain: dict[tuple[str, date], RainReport] = field(default_factory=dict)
    accounts: dict[str, Account] = field(default_factory=dict)
    audit: dict[str, Audit] = field(default_factory=dict)
    seasonals: dict[str, SeasonalMessage] = field(default_factory=dict)
    recipients: dict[tuple[str, str], Recipient] = field(default_factory=dict)
    choices: dict[str, ReminderChoice] = field(default_factory=dict)


Change: TypeAlias = Callable[[State], int]
"""Changes a state and returns how many rows it touched; raises ConcurrentChange at a clash."""


class Work(Protocol):
    """What the tables need of their unit of work."""

    def read(self) -> State:
        """Return the state as this unit of work sees it."""

    def change(self, change: Change) -> int:
        """Make a change, now and again at commit."""
