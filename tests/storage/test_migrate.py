"""From every earlier release, and from nothing, to the schema of this one, on both databases."""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import insert, inspect, select, text, update

from service.records import Audience
from service.storage import Database, DatabaseUnavailable, SchemaMismatch, migrate
from service.storage.kept_sql import statements
from service.storage.migrate import FOLDER, steps
from service.storage.tables import alembic_version, metadata, schema_version

RELEASED = {
    "0001_phone_and_session": "09433fee2ab97849994c1219e662f9c008a327ec3b286e1f3afdc2231f0273ba",
    "0002_plots_and_messages": "9d99ca2b54904fed5cc2271fb6dedc27181adf7ddf383437f7b1fdfe66dad750",
    "0003_numbers_that_fail": "b23fd11e17d5282bf73eb564249bcb55e535250e99a46a41b4405d89a6b45d4e",
    "0004_desk": "86f2dba5240cf0d120d66dbd7c057ece821e2856920369426591f9e05d4a700b",
}
"""What earlier versions of the service ran, by SHA-256."""
COUNTED = (
    "CREATE TABLE schema_version (version INTEGER NOT NULL PRIMARY KEY, name VARCHAR(128) NOT NULL)"
)
NOON = "'2026-07-01T12:00:00.000000+00:00'"
ROWS = {
    1: (
        f"INSERT INTO phone VALUES ('p1', '+254700000001', 'sw', {NOON})",
        "INSERT INTO session VALUES ('s1', 'p1', NULL, 'ussd', 'g1', 'plan', 'v', 'crop', '[]',"
        " '{}', 'sw', 0, 0, '[]', 'caller', TRUE, FALSE, 3, 1, 'h', 'Which crop?', TRUE,"
        f" {NOON})",
    ),
    2: (
        f"INSERT INTO plot VALUES ('q1', 'p1', {NOON}, {NOON}, 'below',"
        """ '{"district":"velmora","crop":"tomato","at":"12:30"}', 0.9, TRUE, 2)""",
        f"INSERT INTO plot VALUES ('q2', 'p1', {NOON}, {NOON}, '', '{{\"district\":null}}',"
        " NULL, FALSE, 0)",
        f"INSERT INTO consent VALUES ('c1', 'p1', {NOON}, TRUE, 'yes', 'ussd',"
        " 'reminders', 'caller')",
        "INSERT INTO outbox VALUES ('m1', 'p1', 'sms', 'reminder', 'k1', 'Water.', 'sw', 'gsm7',"
        f" 1, 3, {NOON}, 0, {NOON}, '2026-07-09T12:00:00.000000+00:00', {NOON}, '', 'queued',"
        " TRUE, 0, 0, NULL, '', '', NULL)",
    ),
}


def as_released(database: Database, version: int) -> None:
    """Make what the release that had this version would have left."""
    names = sorted(RELEASED)[:version]
    with database.engine.begin() as connection:
        if names:
            connection.exec_driver_sql(COUNTED)
        for number, name in enumerate(names, start=1):
            for statement in statements((FOLDER / f"{name}.sql").read_text("utf-8")):
                connection.exec_driver_sql(statement)
            connection.exec_driver_sql(
                f"INSERT INTO schema_version VALUES ({number}, '{name}.sql')"
            )
            for row in ROWS.get(number, ()):
                connection.exec_driver_sql(row)


def drop_everything(database: Database) -> None:
    metadata.drop_all(database.engine)
    with database.engine.begin() as connection:
        alembic_version.drop(connection, checkfirst=True)


def schema(database: Database) -> dict[str, object]:
    """Everything that a database can tell about our tables, in one comparable form."""
    found = inspect(database.engine)
    names = sorted(set(found.get_table_names()) - {alembic_version.name})
    return {name: _table(found, name) | {"unique": _unique(database, name)} for name in names}


def _table(found, name: str) -> dict[str, object]:
    columns = {one["name"]: one for one in found.get_columns(name)}
    indexes = {
        str(one["name"]): one
        for one in found.get_indexes(name)
        if "duplicates_constraint" not in one
    }
    return {
        "columns": {
            key: (_kind(one["type"], found.dialect.name), one["nullable"], one["default"])
            for key, one in columns.items()
        },
        "key": found.get_pk_constraint(name)["constrained_columns"],
        "refers": sorted(
            (one["constrained_columns"], one["referred_table"], one["referred_columns"])
            for one in found.get_foreign_keys(name)
        ),
        "indexes": {
            key: (one["column_names"], bool(one["unique"]), _condition(one))
            for key, one in indexes.items()
        },
    }


def _unique(database: Database, name: str) -> list[list[str]]:
    if database.engine.dialect.name == "postgresql":
        found = inspect(database.engine).get_unique_constraints(name)
        return sorted(one["column_names"] for one in found)
    # Asked of SQLite itself: SQLAlchemy misses those that follow a length in brackets.
    with database.engine.connect() as connection:
        made = connection.exec_driver_sql(f"PRAGMA index_list('{name}')").all()
        names = [one[1] for one in made if one[3] == "u"]
        return sorted(
            [row[2] for row in connection.exec_driver_sql(f"PRAGMA index_info('{one}')")]
            for one in names
        )


def _kind(type_, dialect: str) -> str:
    # SQLite keeps whatever word it was given: moments and doubles are written in two ways each.
    # A word that it does not know is reflected as a number, though the column holds our text.
    two_ways = {"NUMERIC": "VARCHAR(32)", "REAL": "FLOAT"} if dialect == "sqlite" else {}
    return two_ways.get(str(type_), str(type_))


def _condition(index) -> str:
    options = index.get("dialect_options", {})
    return " ".join(str(options[key]) for key in options if key.endswith("_where"))


# --- one schema, wherever a database comes from --------------------------------------------------


def test_what_was_released_is_never_changed() -> None:
    kept = {one.stem: hashlib.sha256(one.read_bytes()).hexdigest() for one in FOLDER.glob("*.sql")}
    assert kept == RELEASED


@pytest.mark.parametrize("version", [0, 1, 2, 3, 4])
def test_every_earlier_version_comes_to_the_tables_of_the_code(
    empty_database: Database, version: int
) -> None:
    as_released(empty_database, version)
    assert empty_database.migrate() == steps(FOLDER)[version:]
    empty_database.check()
    migrated = schema(empty_database)
    drop_everything(empty_database)
    metadata.create_all(empty_database.engine)
    meant = schema(empty_database)
    assert set(meant) == set(metadata.tables)
    assert migrated == meant


@pytest.mark.parametrize("version", [1, 2, 3, 4])
def test_what_was_kept_is_there_afterwards(empty_database: Database, version: int) -> None:
    as_released(empty_database, version)
    empty_database.migrate()
    with empty_database.unit_of_work() as work:
        caller = work.caller("+254700000001", "ussd", "g1")
        assert caller.phone is not None
        assert (caller.phone.language, caller.phone.failed_days) == ("sw", 0)
        assert caller.asked is not None
        assert (caller.asked.revision, caller.asked.last_reply) == (3, "Which crop?")
        if version >= 2:
            assert caller.plot is not None
            assert (caller.plot.name, caller.plot.calibration) == ("below", 0.9)
            message = work.outbox.get("m1")
            assert message is not None
            assert (message.state, message.batch) == ("queued", "")
            history = work.farmers.history("p1")
            assert history is not None
            assert (len(history.plots), len(history.consents)) == (2, 1)


@pytest.mark.parametrize("version", [2, 3, 4])
def test_plots_kept_before_are_found_by_district_and_crop(
    empty_database: Database, version: int
) -> None:
    """They were told only in the answers when 0004 gave them columns of their own."""
    as_released(empty_database, version)
    empty_database.migrate()
    with empty_database.unit_of_work() as work:
        for meant in (Audience(districts=("velmora",)), Audience(crops=("tomato",)), Audience()):
            assert [one.plot.id for one in work.farmers.page(meant, "", 9)] == ["q1"]
        assert work.farmers.districts() == (("velmora", 1),)
    with empty_database.engine.connect() as connection:
        rows = connection.execute(text("SELECT id, district, crop FROM plot ORDER BY id")).all()
    assert [tuple(row) for row in rows] == [("q1", "velmora", "tomato"), ("q2", "", "")]


# --- how steps are taken --------------------------------------------------------------------------


def test_migrating_twice_applies_each_step_once(empty_database: Database) -> None:
    assert empty_database.migrate() == steps(FOLDER)
    assert empty_database.migrate() == ()
    empty_database.check()


def test_steps_are_numbered_without_a_gap_and_follow_each_other() -> None:
    """`migrate` takes versions from the names of files; Alembic from what stands in them."""
    config = Config()
    config.set_main_option("script_location", str(FOLDER))
    chain = [*ScriptDirectory.from_config(config).walk_revisions()][::-1]
    assert [Path(one.path).stem for one in chain] == list(steps(FOLDER))
    numbers = [f"{number:04d}" for number in range(1, len(chain) + 1)]
    assert [one.revision for one in chain] == numbers
    assert [name[:4] for name in steps(FOLDER)] == numbers
    assert [one.down_revision for one in chain] == [None, *numbers[:-1]]


def test_two_that_migrate_at_once_wait_for_each_other(empty_database: Database) -> None:
    applied: list[tuple[str, ...]] = []
    threads = [
        threading.Thread(target=lambda: applied.append(empty_database.migrate())) for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(applied) == [(), (), (), steps(FOLDER)]


def test_processes_that_migrate_at_once_wait_for_each_other(empty_database: Database) -> None:
    as_released(empty_database, 2)
    url = empty_database.engine.url.render_as_string(hide_password=False)
    program = (
        "import sys; from service.storage import Database;"
        "print(len(Database(sys.argv[1]).migrate()))"
    )
    running = [
        subprocess.Popen([sys.executable, "-c", program, url], stdout=subprocess.PIPE, text=True)
        for _ in range(3)
    ]
    told = sorted(one.communicate(timeout=120)[0].strip() for one in running)
    assert [one.returncode for one in running] == [0, 0, 0]
    assert told == ["0", "0", str(len(steps(FOLDER)) - 2)]
    empty_database.check()


def test_a_migration_outwaits_the_patience_of_a_turn(
    sqlite_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another one may have an hour's work to do on the file; a turn gives up long before."""
    monkeypatch.setattr("service.storage.database._BUSY_TIMEOUT_S", 0.05)
    database = Database(sqlite_url)
    applied: list[tuple[str, ...]] = []
    with database.engine.connect() as other:
        other.exec_driver_sql("BEGIN IMMEDIATE")
        waiting = threading.Thread(target=lambda: applied.append(database.migrate()))
        waiting.start()
        waiting.join(timeout=0.5)
        assert waiting.is_alive()
        other.rollback()
    waiting.join()
    assert applied == [steps(FOLDER)]
    with database.engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA busy_timeout").scalar() == 50
    database.close()


def test_a_step_that_fails_leaves_the_database_as_it_was(
    empty_database: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    as_released(empty_database, 2)
    before = schema(empty_database)
    monkeypatch.setattr(migrate, "FOLDER", with_step(tmp_path, "CREATE TABLE phone (id INTEGER)"))
    with pytest.raises(DatabaseUnavailable, match="phone"):
        empty_database.migrate()
    assert schema(empty_database) == before
    assert not inspect(empty_database.engine).has_table(alembic_version.name)


def test_a_later_step_is_taken_alone(
    empty_database: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    empty_database.migrate()
    monkeypatch.setattr(migrate, "FOLDER", with_step(tmp_path, "CREATE TABLE later (id INTEGER)"))
    with pytest.raises(SchemaMismatch, match=r"at version 6, this release needs 7: run"):
        empty_database.check()
    assert empty_database.migrate() == ("0007_later",)
    empty_database.check()
    with empty_database.engine.begin() as connection:
        connection.exec_driver_sql("DROP TABLE later")


def with_step(folder: Path, statement: str) -> Path:
    """Return a copy of the steps, in a folder with a per cent sign, with one more."""
    copied = folder / "100% more"
    shutil.copytree(FOLDER, copied, ignore=shutil.ignore_patterns("__pycache__"))
    (copied / "versions" / "0007_later.py").write_text(
        "from alembic import op\n"
        "revision, down_revision = '0007', '0006'\n"
        f"def upgrade():\n    op.execute({statement!r})\n"
    )
    return copied


# --- what is said ---------------------------------------------------------------------------------


def test_a_database_that_was_never_migrated_says_what_to_run(empty_database: Database) -> None:
    with pytest.raises(SchemaMismatch, match=r"version 0.*run `litreline migrate`"):
        empty_database.check()


def test_a_database_of_an_earlier_release_says_what_to_run(empty_database: Database) -> None:
    as_released(empty_database, 2)
    with pytest.raises(SchemaMismatch, match=r"at version 2, this release needs \d+: run"):
        empty_database.check()


def test_a_database_from_a_newer_release_is_left_alone(empty_database: Database) -> None:
    empty_database.migrate()
    with empty_database.engine.begin() as connection:
        connection.execute(update(alembic_version).values(version_num="9999"))
    for refused in (empty_database.migrate, empty_database.check):
        with pytest.raises(SchemaMismatch, match="version 9999, newer than this release"):
            refused()


@pytest.mark.parametrize("version", [0, 2])
def test_an_earlier_release_is_told_that_it_is_too_old(
    empty_database: Database, version: int
) -> None:
    """Each of them refuses a number above its own; the last one counted to 4."""
    as_released(empty_database, version)
    empty_database.migrate()
    with empty_database.engine.connect() as connection:
        assert max(connection.execute(select(schema_version.c.version)).scalars()) > 4


def test_a_version_counted_the_old_way_but_unknown_is_refused(empty_database: Database) -> None:
    as_released(empty_database, 2)
    with empty_database.engine.begin() as connection:
        connection.execute(insert(schema_version).values(version=77, name="0077_elsewhere.sql"))
    with pytest.raises(SchemaMismatch, match="version 77, newer"):
        empty_database.migrate()
