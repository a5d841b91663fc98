"""What every engine promises, the plain one of the tests included."""

from __future__ import annotations

import logging
import time
from collections import Counter
from datetime import datetime, timedelta
from typing import Any

import pytest

from service.jobs import Outcome, Wait

LONG = timedelta(days=3650)
"""A period that does not end during a test."""


def test_a_batch_goes_from_cursor_to_cursor_until_it_is_done(engines: Any, wait: Any) -> None:
    """Ten steps, more than one part of a run has; a second start changes nothing meanwhile."""
    seen: list[tuple[str, str]] = []
    jobs = engines.make()

    def step(key: str, cursor: str) -> Outcome:
        seen.append((key, cursor))
        following = int(cursor or 0) + 1
        return str(following) if following < 10 else None

    jobs.batch("count", step)
    assert jobs.start("count", "to-ten") is True
    assert jobs.start("count", "to-ten") is False
    with engines.working(jobs):
        wait(lambda: len(seen) == 10, "ten steps")
        assert seen == [("to-ten", str(at or "")) for at in range(10)]
        wait(lambda: jobs.start("count", "to-ten"), "a second run")
        wait(lambda: len(seen) == 20, "ten more steps")
    assert seen[10:] == seen[:10]


def test_a_paused_batch_waits_and_goes_on_where_it_stood(engines: Any, wait: Any) -> None:
    paused, calls = [True], []
    jobs = engines.make()

    def step(key: str, cursor: str) -> Outcome:
        calls.append((cursor, time.monotonic()))
        if cursor == "half" and paused[0]:
            return Wait(0.3)
        return "half" if cursor == "" else None

    jobs.batch("pause", step)
    jobs.start("pause", "k1")
    with engines.working(jobs):
        wait(lambda: len(calls) >= 4, "a wait that was repeated")
        assert jobs.start("pause", "k1") is False
        paused[0] = False
        wait(lambda: jobs.start("pause", "k1"), "the end of the batch")
    (first, _), *later = calls
    assert first == ""
    halves = [moment for cursor, moment in later if cursor == "half"]
    assert halves[1] - halves[0] >= 0.3
    assert halves[2] - halves[1] >= 0.3


def test_a_fault_is_tried_again_and_a_mistake_ends_only_its_own_batch(
    engines: Any, wait: Any, passing_fault: Any, caplog: Any
) -> None:
    calls: Counter[str] = Counter()
    jobs = engines.make()

    def step(key: str, cursor: str) -> Outcome:
        calls[key] += 1
        if key == "fault" and calls[key] < 3:
            raise passing_fault("the words of a fault, with +10005550100")
        if key == "mistake" and calls[key] == 1:
            raise KeyError("+10005550199")
        # A cursor that does not move would never end.
        return "same" if key == "stuck" else None

    jobs.batch("trouble", step)
    with caplog.at_level(logging.WARNING), engines.working(jobs):
        for key in ("fault", "mistake", "stuck"):
            jobs.start("trouble", key)
        wait(lambda: calls["fault"] == 3, "a third attempt")
        wait(lambda: calls["stuck"] == 2, "the end of what never moves")
        wait(lambda: jobs.start("trouble", "mistake"), "a new run after the mistake")
        wait(lambda: calls["mistake"] == 2, "its step")
    assert caplog.text.count("a step of trouble failed, trying again: PassingFault") == 2
    assert "555" not in caplog.text


def test_a_scan_fires_once_in_a_period(engines: Any, wait: Any) -> None:
    fired: list[datetime] = []
    jobs = engines.make()
    jobs.every("look", LONG, fired.append)
    jobs.every("often", timedelta(seconds=1), lambda now: None)
    with engines.working(jobs):
        wait(lambda: fired, "the first scan")
        time.sleep(1)
    again = engines.make()
    again.every("look", LONG, fired.append)
    with engines.working(again):
        time.sleep(1)
    assert len(fired) == 1
    assert fired[0].utcoffset() == timedelta()


def test_a_clock_that_jumps_is_followed_and_repeats_nothing(engines: Any, wait: Any) -> None:
    """Forward: the present period only. Back: nothing again, until time is new once more."""
    fired: list[datetime] = []
    jobs = engines.make()
    hour = timedelta(hours=1)
    jobs.every("look", hour, fired.append)
    with engines.working(jobs):
        wait(lambda: len(fired) == 1, "the first scan")
        engines.clock.jump = 100 * hour
        wait(lambda: len(fired) == 2, "one scan after a hundred hours")
        engines.clock.jump = 0 * hour
        time.sleep(0.7)
        assert len(fired) == 2
        engines.clock.jump = -50 * hour
        wait(lambda: len(fired) == 3, "a scan in an hour that never had one")
        engines.clock.jump = 100 * hour
        time.sleep(0.7)
        assert len(fired) == 3
        engines.clock.jump = 101 * hour
        wait(lambda: len(fired) == 4, "a scan once time is new again")


def test_a_scan_that_fails_is_called_in_its_next_period(
    engines: Any, wait: Any, passing_fault: Any, caplog: Any
) -> None:
    fired: list[datetime] = []

    def look(now: datetime) -> None:
        fired.append(now)
        raise passing_fault("no database")

    jobs = engines.make()
    jobs.every("look", timedelta(hours=1), look)
    with engines.working(jobs):
        wait(lambda: len(fired) == 1, "the first scan")
        engines.clock.jump = timedelta(hours=1)
        wait(lambda: len(fired) == 2, "the second scan")
    assert "scan look failed: PassingFault" in caplog.text


@pytest.mark.parametrize("name", ["", "Two Words", "a:b", "ä"])
def test_names_and_keys_that_engines_cannot_keep_are_refused(engines: Any, name: str) -> None:
    jobs = engines.make()
    with pytest.raises(ValueError, match="not a name"):
        jobs.batch(name, lambda key, cursor: None)
    with pytest.raises(ValueError, match="not a name"):
        jobs.every(name, LONG, lambda now: None)
    with pytest.raises(ValueError, match="not a key"):
        jobs.start("count", f"{name}:")


def test_what_is_registered_is_told(engines: Any) -> None:
    jobs = engines.make()
    jobs.every("look", timedelta(minutes=15), lambda now: None)
    jobs.batch("count", lambda key, cursor: None)
    assert {"scan look, every 0:15:00", "batch count"} <= set(jobs.described())
    with pytest.raises(ValueError, match="a scan look already"):
        jobs.every("look", LONG, lambda now: None)
    with pytest.raises(ValueError, match="too short"):
        jobs.every("quick", timedelta(milliseconds=5), lambda now: None)
