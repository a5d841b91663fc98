"""Connections ready for the next unit of work."""

from __future__ import annotations

import sqlite3
from collections import deque
from typing import NamedTuple

from sqlalchemy import Connection, Engine

MOST_IDLE = 16


class Ready(NamedTuple):
    """A connection, and the driver's own beneath it where statements go straight there."""

    connection: Connection
    driver: sqlite3.Connection | None


class Connections:
    """Keeps a few connections of a SQLite file open between units of work.

    SQLAlchemy's pool does more for each checkout than SQLite for a whole statement. A server may
    close a connection meanwhile, so those of PostgreSQL go through the pool, which looks.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine, self.dialect = engine, engine.dialect.name
        # Taking and giving back are single operations, safe from any thread.
        self._idle: deque[Ready] = deque()

    def take(self) -> Ready:
        """Return a connection in no transaction."""
        try:
            return self._idle.pop()
        except IndexError:
            connection = self._engine.connect()
        driver = connection.connection.driver_connection
        return Ready(connection, driver if isinstance(driver, sqlite3.Connection) else None)

    def give_back(self, ready: Ready) -> None:
        """Take a connection back; whatever was not committed on it is undone."""
        connection = ready.connection
        if ready.driver is None or connection.closed or len(self._idle) >= MOST_IDLE:
            connection.close()
            return
        if connection.in_transaction():
            connection.rollback()
        self._idle.append(ready)

    def close(self) -> None:
        """Close every connection that nobody uses."""
        while self._idle:
            self._idle.pop().connection.close()
        self._engine.dispose()
