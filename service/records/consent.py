"""Who may be written to unasked: a ledger that is only ever added to; what a person must see."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, TypeAlias

Purpose: TypeAlias = Literal["reminders", "research"]
By: TypeAlias = Literal["caller", "officer", "operator"]


@dataclass(frozen=True, slots=True)
class Consent:
    """One line of the ledger: who said yes or no to what, when, in which words, by which way.

    The last line for a phone and a purpose counts.
    """

    id: str
    phone_id: str
    at: datetime
    given: bool
    words: str = field(repr=False)
    channel: str
    purpose: Purpose = "reminders"
    by: By = "caller"


@dataclass(frozen=True, slots=True)
class Review:
    """A message that a person should look at: it nearly says stop."""

    id: str
    phone_id: str
    at: datetime
    words: str = field(repr=False)
    channel: str
    settled_at: datetime | None = None
