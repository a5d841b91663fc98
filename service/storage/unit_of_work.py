"""The unit of work over SQLAlchemy Core: one connection, few constant statements."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from types import TracebackType
from typing import Any, Self

from sqlalchemy import Connection, Executable
from sqlalchemy.exc import IntegrityError

from service.records import Caller, ConcurrentChange
from service.storage import statements
from service.storage.connections import Connections
from service.storage.constant import Constant
from service.storage.letters import SqlConsents, SqlInbox
from service.storage.outbox import SqlOutbox
from service.storage.people import SqlPhones, SqlPlots, SqlSessions
from service.storage.rows import (
    PHONE_COLUMNS,
    SESSION_COLUMNS,
    phone_record,
    plot_record,
    session_record,
)
from service.storage.turnstile import Turnstile

_PLOT = len(PHONE_COLUMNS) + len(SESSION_COLUMNS)


class SqlUnitOfWork:
    """A transaction on one connection; also the repositories, which share its state.

    On SQLite the first write takes the write lock at once (BEGIN IMMEDIATE), so that a
    transaction never fails half-way for want of it; reading before that takes no lock. On
    PostgreSQL the driver begins by itself and rows are locked as they are written.
    """

    def __init__(self, connections: Connections, turnstile: Turnstile) -> None:
        self._connections, self._turnstile = connections, turnstile
        self._immediate = connections.dialect == "sqlite"
        self._begun = False
        self._connection: Connection | None = None

    @property
    def phones(self) -> SqlPhones:
        return SqlPhones(self)

    @property
    def sessions(self) -> SqlSessions:
        return SqlSessions(self)

    @property
    def plots(self) -> SqlPlots:
        return SqlPlots(self)

    @property
    def inbox(self) -> SqlInbox:
        return SqlInbox(self)

    @property
    def consents(self) -> SqlConsents:
        return SqlConsents(self)

    @property
    def outbox(self) -> SqlOutbox:
        return SqlOutbox(self, self._connections.dialect)

    def caller(self, number: str, channel: str, gateway_session: str) -> Caller:
        values = {"number": number, "channel": channel, "gateway_session": gateway_session}
        rows = statements.CALLER.rows(self.connection, values)
        if not rows:
            return Caller(None, None, None)
        width = len(PHONE_COLUMNS)
        sessions = [session_record(row[width:_PLOT]) for row in rows if row[width] is not None]
        return Caller(
            phone_record(rows[0][:width]),
            next((one for one in sessions if one.gateway_session == gateway_session), None),
            next((one for one in sessions if one.open), None),
            None if rows[0][_PLOT] is None else plot_record(rows[0][_PLOT:]),
        )

    @property
    def connection(self) -> Connection:
        """The connection of this unit of work. Raises RuntimeError outside of its block."""
        if self._connection is None:
            raise RuntimeError("the unit of work has not been entered")
        return self._connection

    def write(self, statement: Executable | Constant, values: Mapping[str, Any]) -> int:
        """Run one write and return the number of rows it touched."""
        connection = self.connection
        self._begin(connection)
        try:
            if isinstance(statement, Constant):
                return statement.touched(connection, values)
            return connection.execute(statement, values).rowcount
        except (IntegrityError, sqlite3.IntegrityError) as error:
            raise ConcurrentChange("a row of the same key is already kept") from error

    def _begin(self, connection: Connection) -> None:
        if self._immediate and not self._begun:
            # Set first: whatever goes wrong from here on, the place in the queue is given up.
            self._begun = True
            self._turnstile.enter(connection.info)
            # Straight to the driver, as the statements of a turn go.
            connection.connection.cursor().execute("BEGIN IMMEDIATE")

    def _end(self) -> None:
        if self._begun:
            self._turnstile.leave(self.connection.info)
            self._begun = False

    def commit(self) -> None:
        if self._begun:
            self.connection.connection.cursor().execute("COMMIT")
        self.connection.commit()
        self._end()

    def rollback(self) -> None:
        if self._begun:
            # Does nothing when the transaction was never begun, for want of the lock.
            self.connection.connection.rollback()
        self.connection.rollback()
        self._end()

    def __enter__(self) -> Self:
        self._connection = self._connections.take()
        self._begun = False
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._begun:
            self.rollback()
        connection, self._connection = self.connection, None
        self._connections.give_back(connection)
