"""Times as SMPP writes them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.gateways.smpp.times import receipt_time, validity

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=timezone(timedelta(hours=3)))


@pytest.mark.parametrize(
    ("length", "expected"),
    [
        (timedelta(hours=2), "000000020000000R"),
        (timedelta(days=1, hours=2, minutes=3, seconds=4), "000001020304000R"),
        (timedelta(seconds=0.2), "000000000001000R"),
        (timedelta(days=400), "000031000000000R"),
    ],
)
def test_relative_periods(length: timedelta, expected: str) -> None:
    """SMPP 3.4, 7.1.1: years, months, days, hours, minutes, seconds, and R for relative."""
    assert validity(length, "relative", NOW) == expected
    assert len(expected) == 16


def test_absolute_periods_are_in_utc() -> None:
    """SMPP 3.4, 7.1.1: tenths, quarters of an hour from UTC, and which way."""
    assert validity(timedelta(minutes=90), "absolute", NOW) == "261125073000000+"


def test_none_leaves_it_to_the_centre() -> None:
    assert validity(None, "relative", NOW) == validity(timedelta(1), "none", NOW) == ""


@given(st.timedeltas(timedelta(seconds=1), timedelta(days=31)))
def test_a_relative_period_says_its_length(length: timedelta) -> None:
    text = validity(length, "relative", NOW)
    days, hours, minutes, seconds = (int(text[i : i + 2]) for i in range(4, 12, 2))
    said = timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds)
    assert timedelta(0) <= length - said < timedelta(seconds=1)


@pytest.mark.parametrize(
    ("digits", "expected"),
    [
        ("2611250901", "2026-11-25T09:01:00"),
        ("261125090131", "2026-11-25T09:01:31"),
        ("20261125090131", "2026-11-25T09:01:31"),
        ("3712312359", "2037-12-31T23:59:00"),
        ("3801010000", "1938-01-01T00:00:00"),
        ("9912312359", "1999-12-31T23:59:00"),
    ],
)
def test_times_of_receipts(digits: str, expected: str) -> None:
    """Two-digit years: SMPP 3.4, Appendix C."""
    found = receipt_time(digits, UTC)
    assert found is not None
    assert found.replace(tzinfo=None).isoformat() == expected


@pytest.mark.parametrize("digits", ["", "2611", "2613250901", "26112509011", "२६११२५०९०१", "now"])
def test_what_is_no_time(digits: str) -> None:
    assert receipt_time(digits, UTC) is None
