"""Open a database by its URL and set it so that a committed turn survives a power cut."""

from __future__ import annotations

import re
import sqlite3
from typing import Any

from sqlalchemy import URL, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, SQLAlchemyError

from service.errors import LitrelineError
from service.storage import migrate as migrations
from service.storage.connections import Connections
from service.storage.turnstile import Turnstile
from service.storage.unit_of_work import SqlUnitOfWork

_BUSY_TIMEOUT_S = 5.0


DATABASE_FAULTS = (SQLAlchemyError, sqlite3.Error)
"""What a database that fails raises from within a unit of work."""


class DatabaseUnavailable(LitrelineError):
    """A database URL that cannot be used, or a database that does not answer."""


class Database:
    """One database: units of work, migrations, and whether it answers."""

    def __init__(self, url: str) -> None:
        self._url = _url(url)
        self._turnstile = Turnstile(self._url)
        self.engine = _engine(self._url, self._turnstile)
        self._connections = Connections(self.engine)

    def __str__(self) -> str:
        return self._url.render_as_string(hide_password=True)

    def unit_of_work(self) -> SqlUnitOfWork:
        """Return a new unit of work on this database."""
        return SqlUnitOfWork(self._connections, self._turnstile)

    def migrate(self) -> tuple[str, ...]:
        """Bring the schema up to this release; return the names of the steps taken."""
        try:
            return migrations.migrate(self.engine)
        except SQLAlchemyError as error:
            raise DatabaseUnavailable(self._trouble(error)) from error

    def check(self) -> None:
        """Raise when the database does not answer or has another schema than this release."""
        try:
            migrations.check(self.engine)
        except SQLAlchemyError as error:
            raise DatabaseUnavailable(self._trouble(error)) from error

    def close(self) -> None:
        """Close every connection of the pool."""
        self._connections.close()

    def _trouble(self, error: SQLAlchemyError) -> str:
        cause = str(getattr(error, "orig", error)).strip().splitlines()
        return f"cannot use the database {self}: {cause[0] if cause else error}"


def _url(url: str) -> URL:
    try:
        parsed = make_url(url)
    except ArgumentError as error:
        raise DatabaseUnavailable(
            f"not a database URL: {_masked(url)!r}; example sqlite:///var/litreline.sqlite3"
            " or postgresql://user@host/litreline"
        ) from error
    if parsed.drivername in {"postgres", "postgresql"}:
        return parsed.set(drivername="postgresql+psycopg")
    if parsed.get_backend_name() not in {"sqlite", "postgresql"}:
        raise DatabaseUnavailable(
            f"{parsed.get_backend_name()} databases are not supported;"
            " use sqlite:///FILE or postgresql://..."
        )
    return parsed


def _masked(url: str) -> str:
    return re.sub(r"(?<=:)[^:@/]+(?=@)", "***", url)


def _engine(url: URL, turnstile: Turnstile) -> Engine:
    # Parameters hold numbers and answers: they must not get into a log by way of an error.
    if url.get_backend_name() == "sqlite":
        engine = create_engine(url, connect_args={"timeout": _BUSY_TIMEOUT_S}, hide_parameters=True)
        event.listen(engine, "connect", _set_sqlite)
        event.listen(engine, "close", lambda _, record: turnstile.forget(record.info))
        return engine
    try:
        # A connection that the server closed meanwhile is found before a turn relies on it.
        return create_engine(url, pool_pre_ping=True, hide_parameters=True)
    except ModuleNotFoundError as error:
        raise DatabaseUnavailable(
            "PostgreSQL needs the driver: install litreline with the extra `postgresql`"
        ) from error


def _set_sqlite(connection: Any, _record: object) -> None:
    # The driver must not begin transactions by itself: the unit of work does, with the lock.
    connection.isolation_level = None
    cursor = connection.cursor()
    try:
        cursor.execute(f"PRAGMA busy_timeout = {int(_BUSY_TIMEOUT_S * 1000)}")
        cursor.execute("PRAGMA journal_mode = WAL")
        # FULL costs a sync a turn; with NORMAL a power cut may lose turns already answered.
        cursor.execute("PRAGMA synchronous = FULL")
        cursor.execute("PRAGMA foreign_keys = ON")
    finally:
        cursor.close()
