"""Statements of every turn, for SQLite compiled once and handed to the driver as they are.

SQLAlchemy's execution costs several times what SQLite needs for the statement itself. The SQL
still comes from the tables, and values pass through the same types. On a server the way there and
back costs more than either, so there the statements are executed as any other.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from typing import Any, NamedTuple

from sqlalchemy import Executable, Select
from sqlalchemy.dialects import sqlite

from service.storage.connections import Ready

_Convert = Callable[[Any], Any]


class _Compiled(NamedTuple):
    """SQL with question marks, its own values, the parameters in order, columns to convert."""

    sql: str
    fixed: Mapping[str, Any]
    binds: Sequence[tuple[str, _Convert | None]]
    results: Sequence[tuple[int, _Convert]]


class Constant:
    """One statement."""

    def __init__(self, statement: Executable) -> None:
        self._statement = statement

    def rows(self, ready: Ready, values: Mapping[str, Any]) -> Sequence[Sequence[Any]]:
        """Run a query and return its rows."""
        if ready.driver is None:
            return ready.connection.execute(self._statement, values).all()
        rows = [list(row) for row in self._run(ready.driver, values).fetchall()]
        for place, convert in self._compiled.results:
            for row in rows:
                row[place] = convert(row[place])
        return rows

    def touched(self, ready: Ready, values: Mapping[str, Any]) -> int:
        """Run a write and return how many rows it touched.

        On SQLite its faults are the driver's own, not SQLAlchemy's.
        """
        if ready.driver is None:
            return ready.connection.execute(self._statement, values).rowcount
        return self._run(ready.driver, values).rowcount

    def _run(self, driver: sqlite3.Connection, values: Mapping[str, Any]) -> sqlite3.Cursor:
        sql, fixed, binds, _ = self._compiled
        given = {**fixed, **values} if fixed else values
        return driver.execute(
            sql, [convert(given[name]) if convert else given[name] for name, convert in binds]
        )

    @cached_property
    def _compiled(self) -> _Compiled:
        dialect = sqlite.dialect()
        compiled: Any = self._statement.compile(dialect=dialect)  # type: ignore[attr-defined]
        binds = [
            (name, compiled.binds[name].type.bind_processor(dialect))
            for name in compiled.positiontup
        ]
        columns = self._statement.selected_columns if isinstance(self._statement, Select) else ()
        results: list[tuple[int, _Convert]] = []
        for place, column in enumerate(columns):
            convert = column.type.dialect_impl(dialect).result_processor(dialect, None)
            if convert is not None:
                results.append((place, convert))
        # Values that stand in the statement itself, such as a state compared with.
        fixed = {name: one.value for name, one in compiled.binds.items() if not one.required}
        return _Compiled(str(compiled), fixed, binds, results)
