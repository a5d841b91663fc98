"""Rain of every district, read once for a whole run instead of once for each plot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date, timedelta

from service.advice.context import DailyRain
from service.records import UnitOfWork
from service.sizing.soil_store import LONGEST_REST_DAYS


def rain_kept(work: UnitOfWork, today: date) -> DailyRain:
    """Return the rain that was reported of late, as contexts take it."""
    found: dict[str, dict[date, float]] = defaultdict(dict)
    for report in work.rain.since(today - timedelta(days=LONGEST_REST_DAYS)):
        found[report.district][report.day] = report.mm

    def rain(district: str, since: date) -> Mapping[date, float]:
        days = found.get(district, {})
        return {day: mm for day, mm in days.items() if since <= day <= today}

    return rain
