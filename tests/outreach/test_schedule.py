"""When a weekly text is due: RFC 5545 rules by the clock of the place."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.outreach.schedule import WeeklyTime, last_occurrence, week_key

ZONES = ("UTC", "Africa/Nairobi", "Asia/Kolkata", "Europe/Berlin", "America/Sao_Paulo",
         "Africa/Cairo", "Pacific/Auckland", "Pacific/Honolulu", "Australia/Lord_Howe")  # fmt: skip


def at(text: str, zone: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone))


def test_a_time_of_the_week_as_a_rule() -> None:
    assert WeeklyTime(0, 7).rule == "FREQ=WEEKLY;BYDAY=MO;BYHOUR=7;BYMINUTE=0;BYSECOND=0"


@pytest.mark.parametrize(("weekday", "hour"), [(7, 7), (-1, 7), (0, 24), (0, -1)])
def test_no_time_of_a_week(weekday: int, hour: int) -> None:
    with pytest.raises(ValueError, match="no time of a week"):
        WeeklyTime(weekday, hour)


CASES = [
    # The hour has come; it has not: last week's counts.
    (0, 7, "Africa/Nairobi", "2026-11-23T07:00", "2026-11-23T07:00"),
    (0, 7, "Africa/Nairobi", "2026-11-23T06:59", "2026-11-16T07:00"),
    (0, 7, "Africa/Nairobi", "2026-11-29T23:59", "2026-11-23T07:00"),
    # Midnight between Sunday and Monday.
    (0, 0, "Asia/Kolkata", "2026-11-23T00:00", "2026-11-23T00:00"),
    (6, 23, "Asia/Kolkata", "2026-11-23T00:00", "2026-11-22T23:00"),
    # Berlin, 29 March 2026: 02:00 becomes 03:00, and half past two never is.
    (6, 2, "Europe/Berlin", "2026-03-29T03:00", "2026-03-29T03:00"),
    (6, 2, "Europe/Berlin", "2026-03-29T01:59", "2026-03-22T02:00"),
    # Cairo, 24 April 2026: the day begins at one.
    (4, 0, "Africa/Cairo", "2026-04-24T01:00", "2026-04-24T01:00"),
]


@pytest.mark.parametrize(("weekday", "hour", "zone", "now", "expected"), CASES)
def test_the_last_time_it_was_due(
    weekday: int, hour: int, zone: str, now: str, expected: str
) -> None:
    found = last_occurrence(WeeklyTime(weekday, hour).rule, ZoneInfo(zone), at(now, zone))
    assert found == at(expected, zone)


def test_an_hour_that_comes_twice_counts_once_and_first() -> None:
    # Berlin, 25 October 2026: 02:00 is at 00:00 and again at 01:00 by Greenwich.
    berlin, rule = ZoneInfo("Europe/Berlin"), WeeklyTime(6, 2).rule
    first = datetime(2026, 10, 25, 0, 0, tzinfo=UTC)
    for minutes in (0, 30, 60, 90, 120):
        found = last_occurrence(rule, berlin, first + timedelta(minutes=minutes))
        # By Greenwich: Python holds times of two zones for unequal when one of them comes twice.
        assert found is not None
        assert found.astimezone(UTC) == first
    before = last_occurrence(rule, berlin, first - timedelta(minutes=1))
    assert before == datetime(2026, 10, 18, 0, 0, tzinfo=UTC)


def test_a_rule_of_another_kind() -> None:
    now = datetime(2026, 11, 25, 12, tzinfo=UTC)
    daily = last_occurrence("FREQ=DAILY;BYHOUR=18;BYMINUTE=30;BYSECOND=0", UTC, now)
    assert daily == datetime(2026, 11, 24, 18, 30, tzinfo=UTC)
    assert last_occurrence("FREQ=YEARLY;BYMONTH=3;BYMONTHDAY=1;BYHOUR=7", UTC, now) is None


@given(
    st.datetimes(datetime(2020, 1, 1), datetime(2031, 1, 1)),
    st.sampled_from(ZONES),
    st.integers(0, 6),
    st.integers(0, 23),
)
def test_it_was_due_within_the_last_week_on_the_right_day(
    moment: datetime, zone: str, weekday: int, hour: int
) -> None:
    now = moment.replace(tzinfo=UTC)
    found = last_occurrence(WeeklyTime(weekday, hour).rule, ZoneInfo(zone), now)
    assert found is not None
    # A week with a clock change is an hour longer.
    assert found <= now < found + timedelta(days=7, hours=1)
    local = found.astimezone(ZoneInfo(zone))
    assert local.weekday() == weekday
    assert local.hour in (hour, hour + 1)


@settings(max_examples=25)
@given(
    st.datetimes(datetime(2020, 1, 1), datetime(2031, 1, 1)),
    st.sampled_from(ZONES),
    st.integers(0, 6),
    st.integers(0, 23),
    st.integers(1, 90),
)
def test_scans_at_any_pace_meet_each_week_once(
    moment: datetime, zone: str, weekday: int, hour: int, minutes: int
) -> None:
    """Whatever the pace, the keys that scans find over four weeks are those of each week."""
    start, rule = moment.replace(tzinfo=UTC), WeeklyTime(weekday, hour).rule
    keys = []
    for number in range(0, 28 * 24 * 60, minutes * 8):
        found = last_occurrence(rule, ZoneInfo(zone), start + timedelta(minutes=number))
        assert found is not None
        keys.append(week_key(found.date()))
    weeks = list(dict.fromkeys(keys))
    assert 4 <= len(weeks) <= 5
    assert keys == sorted(keys, key=weeks.index)


@pytest.mark.parametrize(
    ("day", "key"),
    # ISO 8601: the week with the year's first Thursday is its first.
    [(date(2026, 11, 25), "2026-W48"), (date(2026, 12, 31), "2026-W53"),
     (date(2027, 1, 3), "2026-W53"), (date(2027, 1, 4), "2027-W01")],
)  # fmt: skip
def test_weeks_have_one_name_over_the_new_year(day: date, key: str) -> None:
    assert week_key(day) == key
