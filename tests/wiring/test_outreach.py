"""What runs by the clock: weekly texts and seasonal messages, from the settings on."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from service.jobs import PlainJobs, PlainLedger
from service.records import Consent, Phone, Plot, SeasonalMessage
from service.settings import read_settings
from service.wiring.build import build
from service.wiring.jobs import REGISTRATIONS, SEASONAL

MONDAY = datetime(2026, 11, 23, 9, 30, tzinfo=UTC)
LAID = {
    "district": "kotsindo", "laid": "told", "laid_lines": 15, "laid_line_length_m": 20,
    "laid_minutes": 0, "crop": "tomato", "weeks_since_planting": 5, "tank_volume_l": 500,
    "stand_height_m": 1.5,
}  # fmt: skip


def settings(data_dir: Path, **values: str):
    return read_settings({"LITRELINE_DATA_DIR": str(data_dir), **values})


@pytest.fixture
def moments():
    return [MONDAY]


@pytest.fixture
def service(tmp_path, moments):
    made = build(settings(tmp_path), lambda: moments[-1])
    made.database.migrate()
    with made.database.unit_of_work() as work:
        work.phones.add(Phone("p1", "+10005550101", "en", MONDAY))
        work.consents.add(Consent("c1", "p1", MONDAY, True, "yes", "ussd"))
        work.plots.add(Plot("q1", "p1", MONDAY, MONDAY, answers=LAID))
        work.commit()
    yield made
    made.database.close()


@pytest.fixture
def jobs(service, tmp_path):
    jobs = PlainJobs(service.clock, PlainLedger(), ())
    for register in REGISTRATIONS:
        register(jobs, service, settings(tmp_path))
    return jobs


def test_all_that_runs_by_the_clock_is_registered(jobs):
    told = " ".join(jobs.described())
    assert all(name in told for name in ("reminders", "did-it-work", "seasonal", "tidy"))


def test_a_week_of_scans_sends_one_weekly_text(jobs, service, moments):
    for halves in range(7 * 24 * 2):
        moments.append(MONDAY + timedelta(minutes=30 * halves))
        jobs.once()
    with service.database.unit_of_work() as work:
        (text,) = work.outbox.of_phone("p1")
    assert text.kind == "reminder"
    assert "Valve open about" in text.text


def test_a_seasonal_message_goes_out_though_nobody_began_its_batch(jobs, service, moments):
    with service.database.unit_of_work() as work:
        work.seasonals.add(
            SeasonalMessage(
                "s1", "Rains", MONDAY, "a1", texts={"en": "Rains come: water less."},
                state="approved",
            )
        )  # fmt: skip
        work.commit()
    for _ in range(3):
        jobs.once()
    with service.database.unit_of_work() as work:
        (text,) = work.outbox.of_phone("p1")
        assert work.seasonals.get("s1").state in ("running", "done")
    assert (text.kind, text.batch) == ("seasonal", "s1")
    assert SEASONAL == "seasonal"
