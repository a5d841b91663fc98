"""What the store in memory holds, and what its tables need of their unit of work."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple, Protocol, TypeAlias

from service.records import (
    Consent,
    Inbound,
    Message,
    Phone,
    Plot,
    Receipt,
    ReceiptState,
    Review,
    Session,
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


Change: TypeAlias = Callable[[State], int]
"""Changes a state and returns how many rows it touched; raises ConcurrentChange at a clash."""


class Work(Protocol):
    """What the tables need of their unit of work."""

    def read(self) -> State:
        """Return the state as this unit of work sees it."""

    def change(self, change: Change) -> int:
        """Make a change, now and again at commit."""
