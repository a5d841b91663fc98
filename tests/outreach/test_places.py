"""Districts: their clocks, their holidays, and the hours in which people may be written to."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.outreach import Place, Places, decent_hours
from service.outreach.places import holidays_of

NAIROBI, DELHI = ZoneInfo("Africa/Nairobi"), ZoneInfo("Asia/Kolkata")
TWO = Places(Place(NAIROBI, "KE"), {"far": Place(DELHI, "IN-KA")})


def test_a_district_that_nobody_placed_has_the_default_place() -> None:
    assert TWO.of("far").zone is DELHI
    assert TWO.of("near") == TWO.of("") == Place(NAIROBI, "KE")


def test_one_moment_by_two_clocks() -> None:
    # 03:00 by Greenwich is 06:00 in Nairobi and 08:30 in Delhi.
    now = datetime(2026, 11, 25, 3, tzinfo=UTC)
    assert TWO.hours("far").next(now) == now
    assert TWO.hours("near").next(now) == datetime(2026, 11, 25, 8, tzinfo=NAIROBI)


def test_a_public_holiday_is_quiet() -> None:
    # 12 December is Jamhuri Day in Kenya, by the constitution's article 9 (from memory). In 2025
    # it was a Friday: Saturday is the next decent day.
    friday = datetime(2025, 12, 12, 9, tzinfo=NAIROBI)
    assert TWO.hours().next(friday) == datetime(2025, 12, 13, 8, tzinfo=NAIROBI)


def test_a_holiday_of_a_state_is_one_there_only() -> None:
    # 1 November is Karnataka's day (Rajyotsava), a holiday of that state alone (from memory).
    day = date(2027, 11, 1)
    assert holidays_of("IN-KA")(day)
    assert not holidays_of("IN")(day)


def test_without_a_region_no_day_is_a_holiday() -> None:
    christmas = datetime(2025, 12, 25, 9, tzinfo=NAIROBI)
    assert Places(Place(NAIROBI)).hours().next(christmas) == christmas


def test_an_unknown_region_is_refused_at_the_start() -> None:
    with pytest.raises(ValueError, match="no holidays are known of the region 'ZZ'"):
        Places(Place(UTC, "ZZ"))


@given(
    st.datetimes(datetime(2024, 1, 1), datetime(2030, 1, 1)),
    st.sampled_from(["Africa/Nairobi", "Asia/Kolkata", "Europe/Berlin", "Pacific/Auckland"]),
    st.sampled_from(["", "KE", "IN-KA", "DE-BY", "NZ", "ET"]),
    st.tuples(st.integers(0, 11), st.integers(12, 23)),
    st.booleans(),
)
def test_the_next_decent_moment_is_decent_and_none_is_missed(
    moment: datetime, zone: str, region: str, day: tuple[int, int], sundays: bool
) -> None:
    place = Place(ZoneInfo(zone), region)
    hours = Places(place, {}, time(day[0]), time(day[1]), sundays).hours()
    now = moment.replace(tzinfo=UTC)
    found = hours.next(now)
    local = found.astimezone(place.zone)
    assert now <= found < now + timedelta(days=10)
    # An hour that a clock change leaves out is the one after.
    assert day[0] <= local.hour < max(day[1], day[0] + 2)
    assert sundays or local.weekday() != 6
    assert not holidays_of(region)(local.date())
    assert hours.next(found) == found
    if found > now:
        # Asked any time in between, it is the same moment.
        assert hours.next(now + (found - now) / 2) == found


@pytest.mark.parametrize(
    ("begin", "end", "hours"),
    [
        ("2026-11-25T06:00", "2026-11-25T07:00", 0.0),
        ("2026-11-25T10:00", "2026-11-25T12:30", 2.5),
        ("2026-11-25T00:00", "2026-11-26T00:00", 11.0),
        # Saturday noon to Monday noon, Sunday quiet: 7 h and 4 h.
        ("2026-11-28T12:00", "2026-11-30T12:00", 11.0),
    ],
)
def test_hours_in_which_a_message_can_go_out(begin: str, end: str, hours: float) -> None:
    first, last = (datetime.fromisoformat(each).replace(tzinfo=NAIROBI) for each in (begin, end))
    assert decent_hours(Places(Place(NAIROBI)).hours(), first, last) == pytest.approx(hours)


def test_hours_on_a_day_on_which_the_clock_changes() -> None:
    # Berlin, Sunday 29 March 2026: open from 01:00 to 05:00 by the wall is three hours.
    berlin = ZoneInfo("Europe/Berlin")
    hours = Places(Place(berlin), start=time(1), end=time(5), sundays=True).hours()
    begin = datetime(2026, 3, 28, 23, tzinfo=UTC)
    assert decent_hours(hours, begin, begin + timedelta(hours=12)) == pytest.approx(3.0)
