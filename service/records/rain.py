"""Rain of a district as a field officer reports it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class RainReport:
    """Rain of one day in one district [mm]; a later report of the same day takes its place."""

    district: str
    day: date
    mm: float
    reported_at: datetime
    account_id: str | None = None
