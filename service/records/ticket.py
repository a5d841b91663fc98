"""A matter for a person at the helpline: who asked, what about, who takes care, how it ended."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal, TypeAlias

TicketKind: TypeAlias = Literal["call_back", "missed_call", "review", "undelivered", "dose"]
TicketState: TypeAlias = Literal["open", "claimed", "closed"]


@dataclass(frozen=True, slots=True)
class Ticket:
    """One matter of one phone. Frozen: `revision` says which version a change replaces.

    `dedupe_key` makes opening the same matter again harmless. `danger` is a red flag of the
    helpline conversation, empty when there is none; such tickets come first. `so_far` is the
    conversation as it stood: flow, state and answers. `ask_on` is the day on which the caller is
    asked whether it worked, `worked` what was said then.
    """

    id: str
    phone_id: str
    kind: TicketKind
    dedupe_key: str
    opened_at: datetime
    matter: str = field(default="", repr=False)
    danger: str = ""
    plot_id: str | None = None
    so_far: Mapping[str, object] = field(default_factory=dict, repr=False)
    state: TicketState = "open"
    claimed_by: str | None = None
    claimed_at: datetime | None = None
    closed_at: datetime | None = None
    outcome: str = field(default="", repr=False)
    ask_on: date | None = None
    worked: bool | None = None
    revision: int = 0


@dataclass(frozen=True, slots=True)
class TicketNote:
    """What somebody wrote beside a ticket; never changed."""

    id: str
    ticket_id: str
    account_id: str
    at: datetime
    text: str = field(repr=False)
