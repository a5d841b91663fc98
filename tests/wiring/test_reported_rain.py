"""Rain that officers reported reaches conversations within minutes, at one look at the store."""

from datetime import UTC, date, datetime, timedelta

import pytest

from service.records import RainReport
from service.storage import MemoryStore
from service.wiring.reported_rain import FRESH_FOR, ReportedRain

DAY = date(2026, 11, 25)


@pytest.fixture
def moments():
    return [datetime(2026, 11, 25, 9, tzinfo=UTC)]


@pytest.fixture
def store():
    return MemoryStore()


@pytest.fixture
def rain(store, moments):
    return ReportedRain(store.unit_of_work, lambda: moments[-1])


@pytest.fixture
def report(store, moments):
    def report(district, day, mm):
        with store.unit_of_work() as work:
            work.rain.put(RainReport(district, day, mm, moments[-1]))
            work.commit()

    return report


def test_reports_come_by_district_and_from_a_day_on(rain, report):
    report("velmora", DAY, 12.0)
    report("velmora", DAY - timedelta(9), 3.0)
    report("aruneth", DAY, 1.0)
    assert rain("velmora", DAY - timedelta(1)) == {DAY: 12.0}
    assert rain("kotsindo", DAY - timedelta(14)) == {}


def test_a_new_report_counts_after_some_minutes(rain, report, moments):
    assert rain("velmora", DAY) == {}
    report("velmora", DAY, 12.0)
    assert rain("velmora", DAY) == {}
    moments.append(moments[-1] + FRESH_FOR)
    assert rain("velmora", DAY) == {DAY: 12.0}


def test_a_clock_that_goes_back_does_not_keep_old_reports(rain, report, moments):
    assert rain("velmora", DAY) == {}
    report("velmora", DAY, 12.0)
    moments.append(moments[-1] - timedelta(hours=2))
    assert rain("velmora", DAY) == {DAY: 12.0}
