"""When the weekly text is due: a rule of RFC 5545, read by the clock of the plot's place.

A local time that a clock change leaves out counts as the moment so long after the hour before it,
and of one that comes twice the first counts: both as RFC 5545, section 3.3.5, has it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo

from dateutil.rrule import rrulestr

DAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


@dataclass(frozen=True, slots=True)
class WeeklyTime:
    """A day of the week (Monday is 0) and an hour (0 to 23) by the clock of the place."""

    weekday: int = 0
    hour: int = 7

    def __post_init__(self) -> None:
        if not (0 <= self.weekday < len(DAYS) and 0 <= self.hour < 24):
            raise ValueError(f"no time of a week: day {self.weekday}, hour {self.hour}")

    @property
    def rule(self) -> str:
        """The same as a recurrence rule."""
        day = DAYS[self.weekday]
        return f"FREQ=WEEKLY;BYDAY={day};BYHOUR={self.hour};BYMINUTE=0;BYSECOND=0"


def last_occurrence(rule: str, zone: tzinfo, now: datetime) -> datetime | None:
    """Return the last moment up to `now` that a rule names, in the zone; None in the last 8 days.

    Raises
    ------
    ValueError
        When the rule is none.
    """
    wall = now.astimezone(zone).replace(tzinfo=None)
    # A day beyond either end: the clock on the wall may have been turned back since.
    first, last = wall - timedelta(days=8), wall + timedelta(days=1)
    begin = datetime.combine(first.date(), datetime.min.time())
    moments = (
        found.replace(tzinfo=zone).astimezone(UTC)
        for found in rrulestr(rule, dtstart=begin).between(first, last, inc=True)
    )
    past = [moment for moment in moments if moment <= now]
    return max(past).astimezone(zone) if past else None


def week_key(day: date) -> str:
    """Return the ISO week of a day, such as "2026-W48"."""
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"
