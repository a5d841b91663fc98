"""Places: numbers that running processes hold, so that others see at once who died.

The engine remembers by whom a step was begun, and only that one takes it up again. A place is held
by a lock that the operating system, or the database server, drops when its holder dies. So a free
place whose work is unfinished tells that somebody else must see to it; no clock is involved.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import Protocol

from sqlalchemy import URL, Connection, NullPool, create_engine, text
from sqlalchemy.exc import SQLAlchemyError

try:
    import fcntl
except ImportError:
    # Not a POSIX system: nobody can be seen to have died, so it must stay a single process.
    fcntl = None  # type: ignore[assignment]

MOST = 256
"""Processes that may work at one database."""
_LOCKS = 1_548_321_096
# Otherwise a server may believe in a host for two hours after its plug was pulled.
_KEEPALIVES = {
    "tcp_keepalives_idle": 20,
    "tcp_keepalives_interval": 5,
    "tcp_keepalives_count": 4,
}


class Places(Protocol):
    """The places at one database."""

    def take(self) -> int | None:
        """Hold the first free place until `leave`; None when there is none."""

    def held(self) -> bool:
        """Whether our place is still ours."""

    def free(self, number: int) -> AbstractContextManager[bool]:
        """Hold another place for a moment: the block is told whether it was free."""

    def leave(self) -> None:
        """Let go of our place."""


class FilePlaces:
    """Places beside a SQLite file: locks on small empty files."""

    def __init__(self, database: Path) -> None:
        self._database = database
        self._handle: int | None = None

    def take(self) -> int | None:
        if fcntl is None:
            return 1
        for number in range(1, MOST + 1):
            self._handle = self._locked(number)
            if self._handle is not None:
                return number
        return None

    def held(self) -> bool:
        return True

    @contextmanager
    def free(self, number: int) -> Iterator[bool]:
        handle = None if fcntl is None else self._locked(number)
        try:
            yield handle is not None
        finally:
            if handle is not None:
                os.close(handle)

    def leave(self) -> None:
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None

    def _locked(self, number: int) -> int | None:
        path = Path(f"{self._database}-place-{number}")
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(handle)
            return None
        return handle


class ServerPlaces:
    """Places in PostgreSQL: advisory locks of a connection that stays open for nothing else."""

    def __init__(self, url: URL) -> None:
        self._engine = create_engine(
            url.set(drivername="postgresql+psycopg"),
            isolation_level="AUTOCOMMIT",
            poolclass=NullPool,
            hide_parameters=True,
        )
        self._connection: Connection | None = None
        self._number: int | None = None

    def take(self) -> int | None:
        connection = self._connected()
        for number in range(1, MOST + 1):
            if _locked(connection, number):
                self._number = number
                return number
        return None

    def held(self) -> bool:
        """Whether our place is still ours; a connection that broke is made anew.

        Raises SQLAlchemyError while the server does not answer.
        """
        if self._connection is None or self._connection.invalidated or self._connection.closed:
            return self._number is not None and _locked(self._connected(), self._number)
        self._connection.execute(text("SELECT 1"))
        return True

    @contextmanager
    def free(self, number: int) -> Iterator[bool]:
        with self._engine.connect() as connection:
            try:
                yield _locked(connection, number)
            finally:
                _unlock(connection)

    def leave(self) -> None:
        if self._connection is not None:
            _unlock(self._connection)
            self._connection.close()
            self._connection = None
        self._number = None

    def _connected(self) -> Connection:
        if self._connection is not None:
            self._connection.close()
        self._connection = self._engine.connect()
        for setting, seconds in _KEEPALIVES.items():
            self._connection.execute(text(f"SET {setting} = {seconds}"))
        return self._connection


def _unlock(connection: Connection) -> None:
    """Give all locks back at once: a busy server takes a moment to see that a connection ended."""
    # Where the connection broke, the server gives them back by itself.
    with suppress(SQLAlchemyError):
        connection.execute(text("SELECT pg_advisory_unlock_all()"))


def _locked(connection: Connection, number: int) -> bool:
    values = {"locks": _LOCKS, "number": number}
    statement = text("SELECT pg_try_advisory_lock(:locks, :number)")
    return bool(connection.execute(statement, values).scalar_one())
