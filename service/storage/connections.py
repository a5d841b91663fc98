"""Connections ready for the next unit of work."""

from __future__ import annotations

from collections import deque

from sqlalchemy import Connection, Engine

MOST_IDLE = 16


class Connections:
    """Keeps a few connections of a SQLite file open between units of work.

    SQLAlchemy's pool does more for each checkout than SQLite for a whole statement. A server may
    close a connection meanwhile, so those of PostgreSQL go through the pool, which looks.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine, self.dialect = engine, engine.dialect.name
        # Taking and giving back are single operations, safe from any thread.
        self._idle: deque[Connection] = deque()

    def take(self) -> Connection:
        """Return a connection in no transaction."""
        try:
            return self._idle.pop()
        except IndexError:
            return self._engine.connect()

    def give_back(self, connection: Connection) -> None:
        """Take a connection back; whatever was not committed on it is undone."""
        if self.dialect != "sqlite" or connection.closed or len(self._idle) >= MOST_IDLE:
            connection.close()
            return
        if connection.in_transaction():
            connection.rollback()
        self._idle.append(connection)

    def close(self) -> None:
        """Close every connection that nobody uses."""
        while self._idle:
            self._idle.pop().close()
        self._engine.dispose()
