"""Three stores that must keep the same promises: memory, a SQLite file, a real PostgreSQL."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import delete, text

from service.records import Phone, Session, UnitOfWork
from service.storage import Database, MemoryStore
from service.storage.tables import metadata, schema_version


@dataclass(frozen=True)
class Store:
    name: str
    unit_of_work: Callable[[], UnitOfWork]


@pytest.fixture
def sqlite_url(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path / 'service.sqlite3'}"


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_database(request: pytest.FixtureRequest) -> Iterator[Database]:
    database = Database(request.getfixturevalue(f"{request.param}_url"))
    if request.param == "postgresql":
        _empty(database)
    yield database
    if request.param == "postgresql":
        # The server is shared: nobody after this shall find a version that never was.
        _empty(database)
    database.close()


def _empty(database: Database) -> None:
    with database.engine.begin() as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))


@pytest.fixture(params=["memory", "sqlite", "postgresql"])
def store(request: pytest.FixtureRequest) -> Iterator[Store]:
    if request.param == "memory":
        yield Store("memory", MemoryStore().unit_of_work)
        return
    database = Database(request.getfixturevalue(f"{request.param}_url"))
    database.migrate()
    with database.engine.begin() as connection:
        for table in reversed(metadata.sorted_tables):
            if table is not schema_version:
                connection.execute(delete(table))
    yield Store(request.param, database.unit_of_work)
    database.close()


NOW = datetime(2026, 7, 1, 9, 30, 15, 123456, tzinfo=UTC)


@pytest.fixture
def now() -> datetime:
    return NOW


@pytest.fixture
def a_phone() -> Phone:
    return Phone("p1", "+254700000001", "sw", NOW)


@pytest.fixture
def a_session() -> Session:
    return Session(
        id="s1",
        phone_id="p1",
        channel="ussd",
        gateway_session="g1",
        flow="plan",
        flow_version="0123456789ab",
        state="crop",
        history=(("start", "menu"), ("plan", "length")),
        answers={"plot_length": 25.5, "names": ["nyanya", "टमाटर"], "fall": None, "sure": False},
        language="sw",
        page=1,
        misreads=2,
        notice=("no-number",),
        last_step=4,
        last_body_hash="f" * 64,
        last_reply='Ni mimea gani?\n1 Nyanya\n2 "Kabeji"',
        updated_at=NOW,
    )
