"""What goes out on the coming days: weekly reminders by weekday, and seasonal messages."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from service.desk.office import Office, need
from service.desk.seasonal_common import in_reach
from service.desk.visits import within_reach
from service.outreach import WeeklyTime
from service.outreach.reminders import unreachable
from service.records import Account, Audience, Farmer, SeasonalMessage, UnitOfWork

PAGE = 500
MOST_DAYS = 62
GOING = ("waiting", "approved", "running", "paused")


@dataclass(frozen=True, slots=True)
class DayOut:
    """One day: how many reminders fall on it, and the seasonal messages that begin or go on."""

    day: date
    reminders: int
    seasonal: tuple[SeasonalMessage, ...]
    quiet: bool = False
    """A Sunday or a holiday: nothing leaves unasked. What falls on it waits for the next day."""


def chosen_time(farmer: Farmer) -> WeeklyTime:
    """Return when a farmer gets the weekly text: as chosen, else at the usual time."""
    choice = farmer.choice
    return WeeklyTime(choice.weekday, choice.hour) if choice else WeeklyTime()


class Outlook:
    """Looks ahead.

    `time_of` says when a farmer's weekly text is due, `quiet` on which days nothing leaves.
    """

    def __init__(
        self,
        office: Office,
        time_of: Callable[[Farmer], WeeklyTime] = chosen_time,
        today_of: Callable[[datetime], date] = lambda now: now.date(),
        quiet: Callable[[date], bool] = lambda day: False,
    ) -> None:
        self._office, self._time_of, self._today_of = office, time_of, today_of
        self._quiet = quiet

    def days(
        self, account: Account, audience: Audience, now: datetime, days: int = 14
    ) -> tuple[DayOut, ...]:
        """Return the coming days, today first, for the plots of an audience."""
        need(account, "officer")
        reach, today = within_reach(account, audience), self._today_of(now)
        with self._office.work() as work:
            by_weekday = Counter(
                self._time_of(farmer).weekday
                for farmer in _farmers(work, reach)
                if not unreachable(farmer)
            )
            going = [
                message
                for message in work.seasonals.all()
                if message.state in GOING and in_reach(account, message.audience)
            ]
        coming = (today + timedelta(days=ahead) for ahead in range(min(days, MOST_DAYS)))
        return tuple(
            DayOut(
                day, by_weekday[day.weekday()], tuple(self._on(day, today, going)), self._quiet(day)
            )
            for day in coming
        )

    def _on(
        self, day: date, today: date, going: list[SeasonalMessage]
    ) -> Iterator[SeasonalMessage]:
        """Yield what begins on a day; what has begun, or begins at once, goes on today."""
        for message in going:
            begins = self._today_of(message.starts_at) if message.starts_at else today
            if max(begins, today) == day:
                yield message


def _farmers(work: UnitOfWork, audience: Audience) -> Iterator[Farmer]:
    after = ""
    while page := work.farmers.page(audience, after, PAGE):
        yield from page
        after = page[-1].plot.id
