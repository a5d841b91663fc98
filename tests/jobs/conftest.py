"""Three engines that must keep the same promises: the plain one, a SQLite file, PostgreSQL."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event, Thread
from typing import Any
from uuid import uuid4

import pytest
from sqlalchemy import create_engine, make_url, text

from service.errors import LitrelineError
from service.jobs import DurableJobs, Jobs, PlainJobs, PlainLedger

PATIENCE_S = 20


class PassingFault(LitrelineError):
    """A fault that is worth another try."""


@dataclass
class Clock:
    """The real clock, and a jump that a test may set."""

    jump: timedelta = field(default_factory=timedelta)

    def __call__(self) -> datetime:
        return datetime.now(UTC) + self.jump


@dataclass(frozen=True)
class Engines:
    """Makes engines that stand in different processes at one database."""

    name: str
    make: Callable[[], Jobs]
    clock: Clock

    @contextmanager
    def working(self, jobs: Jobs) -> Iterator[None]:
        """Let one work in a thread for as long as the block takes."""
        stop, failed = Event(), []

        def run() -> None:
            try:
                jobs.run(stop)
            except BaseException as error:
                failed.append(error)

        thread = Thread(target=run)
        thread.start()
        try:
            yield
        finally:
            stop.set()
            thread.join(PATIENCE_S)
            jobs.close()
            if failed:
                raise failed[0]
        assert not thread.is_alive()


def wait_for(check: Callable[[], Any], what: str, patience: float = PATIENCE_S) -> None:
    deadline = time.monotonic() + patience
    while not check():
        if time.monotonic() > deadline:
            pytest.fail(f"{what} did not come about")
        time.sleep(0.02)


@pytest.fixture(scope="session")
def wait() -> Callable[..., None]:
    return wait_for


@pytest.fixture(scope="session")
def passing_fault() -> type[Exception]:
    return PassingFault


@pytest.fixture
def new_database(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[str], str]:
    """Make an empty database of a kind and return its URL."""

    def make(kind: str) -> str:
        if kind == "sqlite":
            return f"sqlite:///{tmp_path / 'jobs.sqlite3'}"
        server = make_url(request.getfixturevalue("postgresql_url"))
        name = f"jobs_{uuid4().hex[:8]}"
        engine = create_engine(
            server.set(drivername="postgresql+psycopg"), isolation_level="AUTOCOMMIT"
        )
        with engine.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name}"))
        engine.dispose()
        return server.set(database=name).render_as_string(hide_password=False)

    return make


@pytest.fixture(params=["plain", "sqlite", "postgresql"])
def engines(request: pytest.FixtureRequest, new_database: Any) -> Engines:
    clock, faults = Clock(), (PassingFault,)
    if request.param == "plain":
        ledger = PlainLedger()
        return Engines("plain", lambda: PlainJobs(clock, ledger, faults, 0.1), clock)
    url = new_database(request.param)

    def make() -> Jobs:
        return DurableJobs(url, clock, faults, slice_steps=3, poll=0.1, fault_wait=0.1)

    return Engines(request.param, make, clock)
