"""A message to be sent: a row of the outbox, the states it goes through, and its receipts."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, NamedTuple, TypeAlias

Kind: TypeAlias = Literal["answer", "confirmation", "alert", "reminder", "seasonal"]
State: TypeAlias = Literal[
    "queued",
    "leased",
    "submitting",
    "uncertain",
    "accepted",
    "unknown",
    "expired",
    "failed",
    "delivered",
]
ReceiptState: TypeAlias = Literal["accepted", "delivered", "expired", "failed"]

FORWARD: tuple[State, ...] = (
    "queued", "leased", "submitting", "uncertain", "accepted", "unknown", "expired", "failed",
    "delivered",
)  # fmt: skip
"""From left to right only, as far as receipts go: a late "expired" undoes no "delivered"."""


def before(state: State) -> tuple[State, ...]:
    """The states that a receipt of this state moves on."""
    return FORWARD[: FORWARD.index(state)]


@dataclass(frozen=True, slots=True)
class Message:
    """A row of the outbox.

    `dedupe_key` makes planning the same message again harmless. `priority` counts from 0, the
    most urgent. `open` is true as long as the sender has to look at the row again, at
    `next_try`. `uncertain_since` is set from the moment on which nobody knows whether the bytes
    arrived until a gateway or a receipt tells. `reason` is the last word of a gateway or sender.
    """

    id: str
    phone_id: str
    channel: str
    kind: Kind
    dedupe_key: str
    text: str = field(repr=False)
    language: str
    encoding: str
    parts: int
    priority: int
    created_at: datetime
    place: int
    not_before: datetime
    not_after: datetime
    next_try: datetime
    sender: str = ""
    state: State = "queued"
    open: bool = True
    attempts: int = 0
    resends: int = 0
    uncertain_since: datetime | None = None
    lease_owner: str = ""
    reason: str = ""
    settled_at: datetime | None = None
    batch: str = ""
    """The seasonal message it belongs to: paused and cancelled with it."""


class Claimed(NamedTuple):
    """A message taken by one sender, with the number and the consent as they are now."""

    message: Message
    number: str
    consent: bool | None
    """The last word on reminders; None when nothing was ever said."""
    failed_days: int = 0
    """On how many days the network said that nobody is at this number."""
    district: str = ""
    """Of the phone's current plot; its clock and holidays decide when it may be written to."""


@dataclass(frozen=True, slots=True)
class Settlement:
    """What became of an attempt to send: the values that replace those of the row."""

    state: State
    open: bool
    next_try: datetime
    attempts: int
    resends: int = 0
    uncertain_since: datetime | None = None
    reason: str = ""
    settled_at: datetime | None = None
    message_ids: tuple[str, ...] = ()
    """The gateway's own ids of the parts, where it does not go by ours."""
    nobody: bool = False
    """The network says that there is no such number."""


@dataclass(frozen=True, slots=True)
class Receipt:
    """What a gateway tells of a message later: by our id, or by its own."""

    id: str
    message_id: str
    state: ReceiptState
    at: datetime
    received_at: datetime
