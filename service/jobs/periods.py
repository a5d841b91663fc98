"""Which period a moment lies in, and which scans have not been offered in it yet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from service.jobs.port import Scan, require_name
from service.records import require_aware

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def period_of(now: datetime, period: timedelta) -> int:
    """Return the number of the period that a moment lies in, counted from 1970."""
    return (require_aware(now) - _EPOCH) // period


@dataclass
class Timetable:
    """The scans of a process. Once across processes is the engine's business, by name and period.

    Nothing here sleeps until a moment: the clock is looked at again each time, so that one that
    jumps is followed at once, in either direction.
    """

    scans: dict[str, tuple[timedelta, Scan]] = field(default_factory=dict)
    _offered: dict[str, int] = field(default_factory=dict)

    def add(self, name: str, period: timedelta, scan: Scan) -> None:
        """Add a scan. Raises ValueError for a name that is taken or a period below a second."""
        if require_name(name) in self.scans:
            raise ValueError(f"there is a scan {name} already")
        if period < timedelta(seconds=1):
            raise ValueError(f"too short a period: {period}")
        self.scans[name] = (period, scan)

    def due(self, now: datetime) -> Iterator[tuple[str, int]]:
        """Name the scans whose present period has not been taken up yet, with its number."""
        for name, (period, _) in self.scans.items():
            number = period_of(now, period)
            if self._offered.get(name) != number:
                yield name, number

    def offered(self, name: str, number: int) -> None:
        """Note that the engine has this period, by us or by another process."""
        self._offered[name] = number

    def described(self) -> tuple[str, ...]:
        """Say each scan and its period."""
        return tuple(f"scan {name}, every {period}" for name, (period, _) in self.scans.items())
