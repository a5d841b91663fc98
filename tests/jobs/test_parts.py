"""The parts of the engines by themselves."""

from __future__ import annotations

import logging
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event, Thread
from time import sleep
from typing import Any

import pytest
from sqlalchemy import make_url, text

from service.jobs import DurableJobs, JobsUnavailable, PlainJobs, PlainLedger
from service.jobs.library_log import KindOnly
from service.jobs.notes import Notes
from service.jobs.periods import period_of
from service.jobs.places import FilePlaces, Places, ServerPlaces

NOW = datetime(2026, 7, 1, 9, 30, tzinfo=UTC)
HOUR = timedelta(hours=1)


def test_periods_are_counted_from_1970_whatever_the_zone() -> None:
    assert period_of(datetime(1970, 1, 1, 0, 59, tzinfo=UTC), HOUR) == 0
    assert period_of(datetime(1970, 1, 1, 4, 0, tzinfo=UTC), HOUR) == 4
    assert period_of(NOW.astimezone(), HOUR) == period_of(NOW, HOUR)
    with pytest.raises(ValueError, match="without a time zone"):
        period_of(NOW.replace(tzinfo=None), HOUR)


@pytest.fixture(params=["sqlite", "postgresql"])
def new_places(request: Any, new_database: Any) -> Any:
    url = make_url(new_database(request.param))
    if request.param == "sqlite":
        return lambda: FilePlaces(Path(url.database or ""))
    return lambda: ServerPlaces(url)


def test_a_place_is_free_again_once_its_holder_left(new_places: Any) -> None:
    first, second = new_places(), new_places()
    assert (first.take(), second.take()) == (1, 2)
    assert first.held()
    with second.free(1) as free:
        assert not free
    first.leave()
    with second.free(1) as free:
        assert free
    # Looking did not keep it.
    assert first.take() == 1
    for places in (first, second):
        places.leave()


def lose_connection(places: Any) -> None:
    """Break the connection that holds a place, and wait until the server has seen it."""
    pid = places._connection.scalar(text("SELECT pg_backend_pid()"))
    places._connection.invalidate()
    with places._engine.connect() as watch:
        seen = text("SELECT count(*) FROM pg_stat_activity WHERE pid = :pid")
        while watch.scalar(seen, {"pid": pid}):
            sleep(0.01)


def test_a_place_lost_with_its_connection_is_taken_back_unless_another_has_it(
    new_database: Any,
) -> None:
    url = make_url(new_database("postgresql"))
    places: Places = ServerPlaces(url)
    assert places.take() == 1
    lose_connection(places)
    assert places.held()
    lose_connection(places)
    other = ServerPlaces(url)
    assert other.take() == 1
    assert not places.held()
    for one in (places, other):
        one.leave()


def test_what_is_noted_is_plain_text_and_holds_no_words_of_a_fault(tmp_path: Path) -> None:
    notes = Notes()
    assert notes.deserialize(notes.serialize({"args": ["a", 1, None]})) == {"args": ["a", 1, None]}
    noted = notes.serialize(KeyError("+10005550100"))
    assert "555" not in noted
    assert isinstance(notes.deserialize(noted), RuntimeError)
    with pytest.raises(TypeError, match="nothing to note down: object"):
        notes.serialize(object())


def test_the_library_logs_the_kind_and_place_of_a_fault_alone(caplog: Any) -> None:
    library = logging.getLogger("a library")
    library.addFilter(KindOnly())
    try:
        raise KeyError("+10005550100")
    except KeyError:
        library.exception("it failed")
    assert "it failed KeyError at test_parts.py:" in caplog.text
    assert "555" not in caplog.text


def test_engines_without_a_database_share_a_ledger() -> None:
    ledger, fired, steps = PlainLedger(), [], []
    both = [PlainJobs(lambda: NOW, ledger) for _ in range(2)]
    for jobs in both:
        jobs.every("look", HOUR, fired.append)
        jobs.batch("count", lambda key, cursor: steps.append(key))
        jobs.start("count", "k1")
    assert both[0].once()
    assert not both[1].once()
    assert (fired, steps) == ([NOW], ["k1"])


def test_what_was_done_long_ago_is_forgotten(new_database: Any, wait: Any) -> None:
    """A number is kept, not an age: five here, in place of ten thousand."""
    url, clock = new_database("sqlite"), [NOW]
    jobs = DurableJobs(url, lambda: clock[0], poll=0.05, kept=5)
    fired: list[datetime] = []
    jobs.every("look", timedelta(minutes=1), fired.append)

    def kept() -> int:
        with sqlite3.connect(make_url(url).database or "") as database:
            (count,) = database.execute("SELECT count(*) FROM workflow_status").fetchone()
        database.close()
        return int(count)

    stop = Event()
    thread = Thread(target=jobs.run, args=[stop])
    thread.start()
    try:
        for minute in range(9):
            clock[0] = NOW + timedelta(minutes=minute)
            wait(lambda minute=minute: len(fired) > minute, "a scan")
        assert kept() > 8
        clock[0] = NOW + HOUR
        wait(lambda: kept() <= 7, "forgetting")
    finally:
        stop.set()
        thread.join()
        jobs.close()


def test_a_database_that_holds_nothing_is_refused() -> None:
    for url in ("sqlite://", "sqlite:///:memory:"):
        with pytest.raises(JobsUnavailable, match="a SQLite file or a PostgreSQL database"):
            DurableJobs(url, lambda: NOW)
