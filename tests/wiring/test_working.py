"""The worker beside the answers of `litreline serve`: it gets a message out, and ends when told."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from service.cli.serve import beside_answers
from service.records import Consent, Phone, Plot, SeasonalMessage
from service.settings import read_settings
from service.wiring.build import build
from service.wiring.keys import new_id
from service.wiring.working import start_worker


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Any]:
    settings = read_settings({"LITRELINE_DATA_DIR": str(tmp_path)})
    service = build(settings)
    service.database.migrate()
    yield settings, service
    service.database.close()


def until(true: Callable[[], bool], seconds: float = 60.0) -> bool:
    deadline = time.monotonic() + seconds
    while not true() and time.monotonic() < deadline:
        time.sleep(0.1)
    return true()


def begin(service: Any) -> str:
    """Keep a farmer and a message that goes out to everybody; return its id."""
    now, phone, key = datetime.now(UTC), new_id(), new_id()
    with service.database.unit_of_work() as work:
        work.phones.add(Phone(phone, "+10005550100", "en", now))
        work.consents.add(Consent(new_id(), phone, now, True, "yes", "paper"))
        work.plots.add(Plot(new_id(), phone, now, now, answers={"district": "velmora"}))
        work.seasonals.add(
            SeasonalMessage(key, "Rain", now, "a", texts={"en": "Rain."}, state="running")
        )
        work.commit()
    return key


def test_a_message_that_was_started_at_the_desk_gets_into_the_outbox(served: Any) -> None:
    settings, service = served
    key = begin(service)

    def waits() -> bool:
        with service.database.unit_of_work() as work:
            return work.seasonals.waiting(key) == 1

    end = start_worker(settings, service)
    try:
        assert until(waits)
    finally:
        end()
    assert until(lambda: not any(one.name == "worker" for one in threading.enumerate()), 10)


def test_a_second_worker_finds_what_the_first_has_done(served: Any) -> None:
    settings, service = served
    key = begin(service)
    for _ in range(2):
        end = start_worker(settings, service)
        try:
            assert until(lambda: _planned(service, key) == 1)
        finally:
            end()
    assert _planned(service, key) == 1


def _planned(service: Any, key: str) -> int:
    with service.database.unit_of_work() as work:
        return int(work.seasonals.get(key).planned)


def test_a_database_in_memory_cannot_hold_jobs_and_the_log_says_so(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    settings = read_settings(
        {"LITRELINE_DATA_DIR": str(tmp_path), "LITRELINE_DATABASE_URL": "sqlite://"}
    )
    service = build(settings)
    with caplog.at_level(logging.ERROR, "litreline.work"):
        end = start_worker(settings, service)
        assert until(lambda: "nothing goes out by the clock" in caplog.text, 20)
        end()
    service.database.close()


GATEWAY = {"LITRELINE_GATEWAY_URL": "http://g.example/"}


@pytest.mark.parametrize(
    ("given", "names"),
    [
        ({}, []),
        ({"LITRELINE_GATEWAY_URL": "http://g.example/"}, ["sender"]),
        ({"LITRELINE_WORK": "yes"}, ["worker"]),
        ({"LITRELINE_WORK": "yes", **GATEWAY}, ["sender", "worker"]),
        ({"LITRELINE_WORK": "yes", "LITRELINE_SEND": "no", **GATEWAY}, ["worker"]),
    ],
)
def test_what_runs_beside_the_answers_follows_the_settings(
    monkeypatch: Any, given: dict[str, str], names: list[str]
) -> None:
    begun: list[str] = []
    ended: list[str] = []

    def stands_for(name: str) -> Any:
        def start(*_: Any) -> Any:
            begun.append(name)
            return lambda: ended.append(name)

        return start

    monkeypatch.setattr("service.cli.serve.start_sender", stands_for("sender"))
    monkeypatch.setattr("service.cli.serve.start_worker", stands_for("worker"))
    start = beside_answers(read_settings(given), object(), threading.Event())
    assert (start is None) == (not names)
    if start is not None:
        start()()
    assert (begun, ended) == (names, names)
