"""Rain as the field officer reports it, district by district."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from service.desk.office import Office, limited, need, need_district
from service.desk.refusals import DeskRefused
from service.phrases import say
from service.records import Account, RainReport
from service.sizing.climate import District

MOST_MM = 500.0
"""More in a day than nearly any place has seen: such a number is a slip (our choice)."""
OLDEST_DAYS = 60
"""Older rain no longer moves today's water: roots have drunk it (our choice)."""


@dataclass(frozen=True, slots=True)
class RainLine:
    """A report with the name of its district and of who made it."""

    report: RainReport
    district_name: str
    by: str


class RainReports:
    """Takes and lists reports.

    `districts` are those of the climate table in use; `today_of` says which day it is in one.
    """

    def __init__(
        self,
        office: Office,
        districts: Mapping[str, District],
        today_of: Callable[[str, datetime], date] = lambda district, now: now.date(),
    ) -> None:
        self._office, self._districts, self._today_of = office, districts, today_of

    def choices(self, account: Account) -> tuple[tuple[str, str], ...]:
        """Return the districts that the account may report: key and name."""
        need(account, "officer")
        only = limited(account)
        return tuple(
            (key, one.name) for key, one in self._districts.items() if not only or key in only
        )

    def report(
        self, account: Account, district: str, day: date, mm: float, now: datetime
    ) -> RainReport:
        """Keep the rain of a day [mm], in place of an earlier report of the same day.

        Raises
        ------
        DeskRefused
            An unknown or foreign district, a day to come or too long ago, or no such rain.
        """
        need(account, "officer")
        if district not in self._districts:
            raise DeskRefused(say("Choose a district of the list."))
        need_district(account, district)
        today = self._today_of(district, now)
        if day > today:
            raise DeskRefused(say("That day is still to come."))
        if day < today - timedelta(days=OLDEST_DAYS):
            raise DeskRefused(say("That day is more than {days} days ago.", days=OLDEST_DAYS))
        if not 0.0 <= mm <= MOST_MM:
            raise DeskRefused(say("Rain of a day is 0 to {most} mm.", most=int(MOST_MM)))
        report = RainReport(district, day, round(mm, 1), now, account.id)
        with self._office.work() as work:
            work.rain.put(report)
            self._office.log(
                work, account, "rain.reported", now, subject="district", subject_id=district,
                day=day.isoformat(), mm=report.mm,
            )  # fmt: skip
        return report

    def lines(self, account: Account, now: datetime, days: int = 30) -> tuple[RainLine, ...]:
        """Return the reports of the last days, by district and day."""
        need(account, "officer", "operator")
        only = limited(account)
        since = now.date() - timedelta(days=min(days, 366))
        with self._office.work() as work:
            names = {one.id: one.name for one in work.accounts.all()}
            return tuple(
                RainLine(
                    report,
                    self._name(report.district),
                    names.get(report.account_id or "", ""),
                )
                for report in work.rain.since(since)
                if not only or report.district in only
            )

    def _name(self, district: str) -> str:
        known = self._districts.get(district)
        return known.name if known else district
