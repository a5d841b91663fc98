"""Rows of a table as records and back: what a column cannot hold is JSON text."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any, Generic, TypeVar

from sqlalchemy import Executable, Insert, Row, Table, bindparam, insert, update
from sqlalchemy.dialects import postgresql, sqlite

from service.records import ConcurrentChange
from service.storage.outbox import Work
from service.storage.rows import json_text, read_json

Record = TypeVar("Record")
Read = Callable[[Any], Any]


class KeptRows(Generic[Record]):
    """The records of one table.

    `columns` names the columns kept as JSON, each with what makes the record's value of it;
    `extra` reckons columns that the record does not have.
    """

    def __init__(
        self,
        table: Table,
        kind: type[Record],
        columns: Mapping[str, tuple[Callable[[Any], object], Read]] | None = None,
        extra: Mapping[str, Callable[[Record], object]] | None = None,
    ) -> None:
        self.table, self._kind = table, kind
        self._json, self._extra = columns or {}, extra or {}
        self._names = tuple(field.name for field in fields(kind))  # type: ignore[arg-type]
        self.columns = tuple(table.c[name] for name in self._names)
        self._all = (*self._names, *self._extra)
        self.add: Insert = insert(table).values(self._values(self._all))
        self._save = self._update() if "revision" in self._names else None

    def _values(self, names: tuple[str, ...]) -> dict[str, Any]:
        return {name: bindparam(name, type_=self.table.c[name].type) for name in names}

    def _update(self) -> Executable:
        table = self.table
        changed = tuple(name for name in self._all if name != "id")
        return (
            update(table)
            .where(
                table.c.id == bindparam("same_id"), table.c.revision == bindparam("read_revision")
            )
            .values(self._values(changed))
        )

    def row(self, record: Record) -> dict[str, Any]:
        """Return the column values of a record."""
        row = {name: getattr(record, name) for name in self._names}
        row |= {name: json_text(write(row[name])) for name, (write, _) in self._json.items()}
        return row | {name: reckon(record) for name, reckon in self._extra.items()}

    def record(self, row: Row[Any]) -> Record:
        """Return the record of a row that has this table's columns first."""
        values = dict(zip(self._names, row, strict=False))
        for name, (_, read) in self._json.items():
            values[name] = read(read_json(values[name]))
        return self._kind(**values)

    def save(self, work: Work, record: Any) -> None:
        """Replace a row by a record with the next revision; ConcurrentChange when it moved on."""
        if self._save is None:
            raise TypeError(f"rows of {self.table.name} are never changed")
        row = self.row(record)
        row |= {"same_id": record.id, "read_revision": record.revision}
        row["revision"] += 1
        if work.write(self._save, row) != 1:
            raise ConcurrentChange(f"{self.table.name} {record.id} has changed")

    def all(
        self, work: Work, statement: Executable, values: Mapping[str, Any]
    ) -> tuple[Record, ...]:
        """Return the records of a query."""
        return tuple(map(self.record, work.connection.execute(statement, values).all()))

    def first(self, work: Work, statement: Executable, values: Mapping[str, Any]) -> Record | None:
        """Return the first record of a query, if there is one."""
        row = work.connection.execute(statement, values).first()
        return None if row is None else self.record(row)


def insert_in_place(table: Table, dialect: str, keys: tuple[str, ...]) -> Insert:
    """Return an insert that takes the place of the row of the same keys."""
    made = postgresql.insert(table) if dialect == "postgresql" else sqlite.insert(table)
    values = {column.name: bindparam(column.name, type_=column.type) for column in table.columns}
    new = made.values(values)
    rest = {name: new.excluded[name] for name in values if name not in keys}
    replaced: Insert = new.on_conflict_do_update(index_elements=list(keys), set_=rest)
    return replaced
