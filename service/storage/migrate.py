"""Bring a database to the schema of this release: steps in order, each once, under a lock.

The steps are Alembic's revisions in `migrations/versions`; their ids are the first four digits
of their file names. Releases before it counted in the table `schema_version` instead.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, select

from service.errors import LitrelineError
from service.storage.tables import alembic_version, schema_version

FOLDER = Path(__file__).parent / "migrations"

# Any constant will do, as long as nobody else takes the same lock in this database.
_ADVISORY_LOCK = 5_483_210_967
_DIGITS = 4
_PATIENCE_MS = 3_600_000
"""How long a migration waits for another one on a SQLite file, which may have much to do."""


class SchemaMismatch(LitrelineError):
    """A database that is newer than this release, or has not been migrated yet."""


@cache
def steps(folder: Path) -> tuple[str, ...]:
    """Return the names of the steps that come with this release, in order."""
    return tuple(sorted(one.stem for one in (folder / "versions").glob("[0-9]*.py")))


def migrate(engine: Engine) -> tuple[str, ...]:
    """Apply what is missing and return the names applied; two at once wait for each other."""
    with engine.connect() as connection, _alone(connection):
        kept = _version(connection)
        _refuse_newer(kept)
        missing = tuple(name for name in steps(FOLDER) if kept is None or name[:_DIGITS] > kept)
        if missing:
            from service.storage.upgrade import upgrade

            upgrade(connection, FOLDER, kept)
        connection.commit()
    return missing


def check(engine: Engine) -> None:
    """Raise SchemaMismatch unless the database has exactly the schema of this release."""
    with engine.connect() as connection:
        kept = _version(connection)
    _refuse_newer(kept)
    if kept != _last():
        raise SchemaMismatch(
            f"the database is at version {_number(kept)}, this release needs"
            f" {_number(_last())}: run `litreline migrate`"
        )


def _last() -> str:
    return steps(FOLDER)[-1][:_DIGITS]


def _number(version: str | None) -> str:
    return (version or "").lstrip("0") or "0"


@contextmanager
def _alone(connection: Connection) -> Iterator[None]:
    """Keep out others who migrate, until the transaction ends."""
    if connection.dialect.name != "sqlite":
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_ADVISORY_LOCK})")
        yield
        return
    usual = connection.exec_driver_sql("PRAGMA busy_timeout").scalar_one()
    connection.exec_driver_sql(f"PRAGMA busy_timeout = {_PATIENCE_MS}")
    try:
        connection.exec_driver_sql("BEGIN IMMEDIATE")
        yield
    finally:
        connection.rollback()
        connection.exec_driver_sql(f"PRAGMA busy_timeout = {usual}")


def _version(connection: Connection) -> str | None:
    """Return the step at which a database stands, None for an empty one."""
    found = inspect(connection)
    if found.has_table(alembic_version.name):
        return connection.execute(select(alembic_version.c.version_num)).scalar()
    if not found.has_table(schema_version.name):
        return None
    versions = connection.execute(select(schema_version.c.version)).scalars()
    number = max(versions, default=0)
    return f"{number:0{_DIGITS}d}" if number else None


def _refuse_newer(kept: str | None) -> None:
    if kept is not None and kept > _last():
        raise SchemaMismatch(
            f"the database is at version {_number(kept)}, newer than this release"
            f" ({_number(_last())}): install the newer release"
        )
