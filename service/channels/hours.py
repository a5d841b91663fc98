"""When it is decent to write to somebody who did not ask."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo

SUNDAY = 6


def no_holiday(day: date) -> bool:
    """No day is a holiday where nobody says which ones are."""
    return False


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours of the day, by the clock of the place, in which reminders may leave.

    08:00 to 19:00 and no Sunday keeps within every rule on marketing that we know of: South
    Africa forbids 20-08 and Sundays, India's rules of 2010 forbade 21-09 (read), a Kenyan draft
    of 2020 allowed 07-19 and Nigeria 08-20 (read, news). Confirm for each country.
    """

    zone: tzinfo
    start: time = time(8)
    end: time = time(19)
    sundays: bool = False
    holiday: Callable[[date], bool] = no_holiday

    def next(self, now: datetime) -> datetime:
        """Return the moment itself when it is decent, else the next that is."""
        local = now.astimezone(self.zone)
        if self._decent_day(local) and self.start <= local.time() < self.end:
            return now
        day = local if local.time() < self.start else local + timedelta(days=1)
        while not self._decent_day(day):
            day += timedelta(days=1)
        return datetime.combine(day.date(), self.start, self.zone)

    def _decent_day(self, local: datetime) -> bool:
        if self.holiday(local.date()):
            return False
        return self.sundays or local.weekday() != SUNDAY
