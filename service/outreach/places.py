"""Where a plot is, as far as clocks go: time zone, holidays, and the decent hours there.

A district that nobody placed has the default place. Holidays come by region, such as "KE" or
"IN-KA" (ISO 3166-1 and -2); without a region no day is one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import cache

from holidays import HolidayBase, country_holidays

from service.channels.hours import Hours, no_holiday
from service.records import Claimed


@dataclass(frozen=True, slots=True)
class Place:
    """The clock of a district, and the region whose holidays it keeps."""

    zone: tzinfo
    region: str = ""


@dataclass(frozen=True)
class Places:
    """Places of all districts, and the hours in which people may be written to unasked.

    Raises
    ------
    ValueError
        For a region whose holidays are not known.
    """

    default: Place
    districts: Mapping[str, Place] = field(default_factory=dict)
    start: time = time(8)
    end: time = time(19)
    sundays: bool = False
    _hours: dict[Place, Hours] = field(default_factory=dict, repr=False, compare=False)

    def __post_init__(self) -> None:
        for place in (self.default, *self.districts.values()):
            if place not in self._hours:
                self._hours[place] = self._hours_of(place)

    def of(self, district: str) -> Place:
        """Return where a district is."""
        return self.districts.get(district, self.default)

    def hours(self, district: str = "") -> Hours:
        """Return the decent hours of a district."""
        return self._hours[self.of(district)]

    def hours_of(self, claimed: Claimed) -> Hours:
        """Return the decent hours of whoever a message is for; for the sender's judge."""
        return self.hours(claimed.district)

    def local(self, district: str, moment: datetime) -> datetime:
        """Return a moment by the clock of a district."""
        return moment.astimezone(self.of(district).zone)

    def _hours_of(self, place: Place) -> Hours:
        return Hours(place.zone, self.start, self.end, self.sundays, holidays_of(place.region))


def holidays_of(region: str) -> Callable[[date], bool]:
    """Return whether a day is a public holiday of a region; of none when it is empty.

    Raises
    ------
    ValueError
        For a region that is not known.
    """
    if not region:
        return no_holiday
    known = _holidays(region)
    return lambda day: day in known


@cache
def _holidays(region: str) -> HolidayBase:
    country, _, part = region.partition("-")
    try:
        return country_holidays(country, subdiv=part or None)
    except NotImplementedError as fault:
        raise ValueError(f"no holidays are known of the region {region!r}") from fault


def decent_hours(hours: Hours, begin: datetime, end: datetime) -> float:
    """Hours between two moments in which people may be written to unasked [h]."""
    found, moment = timedelta(), hours.next(begin)
    while moment < end:
        evening = datetime.combine(moment.astimezone(hours.zone).date(), hours.end, hours.zone)
        found += min(evening.astimezone(UTC), end.astimezone(UTC)) - moment.astimezone(UTC)
        moment = hours.next(evening)
    return found / timedelta(hours=1)
