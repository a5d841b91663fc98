"""The unit of work over SQLAlchemy Core: one connection, few constant statements."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from types import TracebackType
from typing import Any, Self

from sqlalchemy import Connection, Executable
from sqlalchemy.exc import IntegrityError

from service.records import Caller, ConcurrentChange
from service.storage import statements
from service.storage.connections import Connections, Ready
from service.storage.constant import Constant
from service.storage.desk import SqlAccounts, SqlChoices, SqlPeople, SqlRain, SqlTickets
from service.storage.farmers import SqlFarmers
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
from service.storage.seasonals import SqlSeasonals
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
        self._begun = False
        self._ready: Ready | None = None

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

    @property
    def people(self) -> SqlPeople:
        return SqlPeople(self, self._connections.dialect)

    @property
    def farmers(self) -> SqlFarmers:
        return SqlFarmers(self, self._connections.dialect)

    @property
    def tickets(self) -> SqlTickets:
        return SqlTickets(self, self._connections.dialect)

    @property
    def rain(self) -> SqlRain:
        return SqlRain(self, self._connections.dialect)

    @property
    def accounts(self) -> SqlAccounts:
        return SqlAccounts(self)

    @property
    def seasonals(self) -> SqlSeasonals:
        return SqlSeasonals(self, self._connections.dialect)

    @property
    def choices(self) -> SqlChoices:
        return SqlChoices(self, self._connections.dialect)

    def caller(self, number: str, channel: str, gateway_session: str) -> Caller:
        values = {"number": number, "channel": channel, "gateway_session": gateway_session}
        rows = statements.CALLER.rows(self.ready, values)
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
        return self.ready.connection

    @property
    def ready(self) -> Ready:
        """The same, with what is beneath it. Raises RuntimeError outside of the block."""
        if self._ready is None:
            raise RuntimeError("the unit of work has not been entered")
        return self._ready

    def write_all(self, statement: Executable, rows: Sequence[Mapping[str, Any]]) -> None:
        """Run one write for each of many rows."""
        if rows:
            # A list of values is what makes the driver run a statement many times.
            self.write(statement, rows)  # type: ignore[arg-type]

    def write(self, statement: Executable | Constant, values: Mapping[str, Any]) -> int:
        """Run one write and return the number of rows it touched."""
        ready = self.ready
        if not self._begun:
            self._begin(ready)
        try:
            if isinstance(statement, Constant):
                return statement.touched(ready, values)
            return ready.connection.execute(statement, values).rowcount
        except (IntegrityError, sqlite3.IntegrityError) as error:
            raise ConcurrentChange("a row of the same key is already kept") from error

    def _begin(self, ready: Ready) -> None:
        if ready.driver is not None:
            # Set first: whatever goes wrong from here on, the place in the queue is given up.
            self._begun = True
            self._turnstile.enter(ready.connection.info)
            # Straight to the driver, as the statements of a turn go.
            ready.driver.execute("BEGIN IMMEDIATE")

    def _end(self) -> None:
        if self._begun:
            self._turnstile.leave(self.connection.info)
            self._begun = False

    def commit(self) -> None:
        ready = self.ready
        if ready.driver is not None and self._begun:
            ready.driver.execute("COMMIT")
        if ready.connection.in_transaction():
            ready.connection.commit()
        self._end()

    def rollback(self) -> None:
        ready = self.ready
        if ready.driver is not None and self._begun:
            # Does nothing when the transaction was never begun, for want of the lock.
            ready.driver.rollback()
        ready.connection.rollback()
        self._end()

    def __enter__(self) -> Self:
        self._ready = self._connections.take()
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
        ready, self._ready = self.ready, None
        self._connections.give_back(ready)
