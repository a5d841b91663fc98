"""Bring a database to the schema of this release: SQL files in order, each once, under a lock."""

from __future__ import annotations

import re
from importlib import resources
from typing import NamedTuple

from sqlalchemy import Connection, Engine, insert, inspect, select

from service.errors import LitrelineError
from service.storage.tables import schema_version

# Any constant will do, as long as nobody else takes the same lock in this database.
_ADVISORY_LOCK = 5_483_210_967


class SchemaMismatch(LitrelineError):
    """A database that is newer than this release, or has not been migrated yet."""


class Migration(NamedTuple):
    """One step of the schema: its number, its file name, its statements."""

    version: int
    name: str
    statements: tuple[str, ...]


def migrations() -> tuple[Migration, ...]:
    """Return the migrations that come with this release, in order.

    Raises
    ------
    SchemaMismatch
        When the files are not numbered 0001, 0002 and on without a gap.
    """
    folder = resources.files("service.storage") / "migrations"
    names = sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".sql"))
    found = []
    for expected, name in enumerate(names, start=1):
        if not name.startswith(f"{expected:04d}_"):
            raise SchemaMismatch(f"migration {name} should be number {expected:04d}")
        found.append(Migration(expected, name, _statements((folder / name).read_text("utf-8"))))
    return tuple(found)


def migrate(engine: Engine) -> tuple[str, ...]:
    """Apply what is missing and return the names applied; two at once wait for each other."""
    steps = migrations()
    with engine.connect() as connection:
        _lock(connection)
        current = _version(connection)
        _refuse_newer(current, steps)
        if current == 0 and not inspect(connection).has_table(schema_version.name):
            schema_version.create(connection)
        applied = [_apply(connection, step) for step in steps if step.version > current]
        connection.commit()
    return tuple(applied)


def check(engine: Engine) -> None:
    """Raise SchemaMismatch unless the database has exactly the schema of this release."""
    steps = migrations()
    with engine.connect() as connection:
        current = _version(connection)
    _refuse_newer(current, steps)
    if current < len(steps):
        raise SchemaMismatch(
            f"the database is at version {current}, this release needs {len(steps)}:"
            " run `litreline migrate`"
        )


def _statements(text: str) -> tuple[str, ...]:
    bare = re.sub(r"--[^\n]*", "", text)
    return tuple(part.strip() for part in bare.split(";") if part.strip())


def _lock(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    else:
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_ADVISORY_LOCK})")


def _version(connection: Connection) -> int:
    if not inspect(connection).has_table(schema_version.name):
        return 0
    versions = connection.execute(select(schema_version.c.version)).scalars()
    return max(versions, default=0)


def _refuse_newer(current: int, steps: tuple[Migration, ...]) -> None:
    if current > len(steps):
        raise SchemaMismatch(
            f"the database is at version {current}, newer than this release ({len(steps)}):"
            " install the newer release"
        )


def _apply(connection: Connection, step: Migration) -> str:
    for statement in step.statements:
        connection.exec_driver_sql(statement)
    connection.execute(insert(schema_version).values(version=step.version, name=step.name))
    return step.name
