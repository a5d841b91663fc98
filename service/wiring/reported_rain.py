"""Rain as field officers reported it, for advice: read anew every few minutes, not every turn."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta

from service.records import UnitOfWork

FRESH_FOR = timedelta(minutes=5)
"""A report counts in conversations after at most so long."""
LOOKED_BACK = timedelta(days=31)


class ReportedRain:
    """Rain of a district by day [mm]; what `advice.Context.rain` asks for."""

    def __init__(
        self, unit_of_work: Callable[[], UnitOfWork], clock: Callable[[], datetime]
    ) -> None:
        self._unit_of_work, self._clock = unit_of_work, clock
        self._lock = threading.Lock()
        self._read_at: datetime | None = None
        self._by_district: Mapping[str, Mapping[date, float]] = {}

    def __call__(self, district: str, since: date) -> Mapping[date, float]:
        """Return the reports of a district from a day on."""
        known = self._known().get(district, {})
        return {day: mm for day, mm in known.items() if day >= since}

    def _known(self) -> Mapping[str, Mapping[date, float]]:
        now = self._clock()
        with self._lock:
            # A clock that went back reads again, too.
            if self._read_at is None or not timedelta() <= now - self._read_at < FRESH_FOR:
                self._by_district, self._read_at = self._read(now), now
            return self._by_district

    def _read(self, now: datetime) -> Mapping[str, Mapping[date, float]]:
        found: dict[str, dict[date, float]] = {}
        with self._unit_of_work() as work:
            for report in work.rain.since((now - LOOKED_BACK).date()):
                found.setdefault(report.district, {})[report.day] = report.mm
        return found
