"""When it is decent to remind somebody, by the clock of the place."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.channels import Hours

NAIROBI = Hours(ZoneInfo("Africa/Nairobi"))

CASES = [
    ("2026-07-01T08:00", "2026-07-01T08:00"),
    ("2026-07-01T07:59", "2026-07-01T08:00"),
    ("2026-07-01T18:59", "2026-07-01T18:59"),
    ("2026-07-01T19:00", "2026-07-02T08:00"),
    ("2026-07-04T20:00", "2026-07-06T08:00"),
    ("2026-07-05T12:00", "2026-07-06T08:00"),
    ("2026-07-05T03:00", "2026-07-06T08:00"),
]


@pytest.mark.parametrize(("now", "expected"), CASES)
def test_the_next_decent_moment(now: str, expected: str) -> None:
    zone = ZoneInfo("Africa/Nairobi")
    moment = datetime.fromisoformat(now).replace(tzinfo=zone)
    assert NAIROBI.next(moment) == datetime.fromisoformat(expected).replace(tzinfo=zone)


def test_sundays_where_they_are_allowed() -> None:
    sunday = datetime(2026, 7, 5, 12, tzinfo=UTC)
    assert Hours(UTC, sundays=True).next(sunday) == sunday


def test_clocks_that_are_put_forward() -> None:
    berlin = Hours(ZoneInfo("Europe/Berlin"), sundays=True)
    night = datetime(2026, 3, 28, 23, tzinfo=UTC)
    assert berlin.next(night) == datetime(2026, 3, 29, 6, tzinfo=UTC)


@given(st.datetimes(datetime(2020, 1, 1), datetime(2030, 1, 1)))
def test_the_next_moment_is_decent_and_soon(moment: datetime) -> None:
    now = moment.replace(tzinfo=UTC)
    found = NAIROBI.next(now)
    local = found.astimezone(ZoneInfo("Africa/Nairobi"))
    assert now <= found <= now + timedelta(days=2)
    assert time(8) <= local.time() < time(19)
    assert local.weekday() != 6
