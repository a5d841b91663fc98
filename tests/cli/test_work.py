"""`litreline work`: what it tells, that it stops as told, and that it says what it needs."""

from __future__ import annotations

import os
import re
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from service.cli import parser
from service.settings import SETTINGS

COMMAND = [sys.executable, "-c", "import sys; from service.cli import main; sys.exit(main())"]


def test_it_tells_what_it_would_run(run: Any, data_dir: Path) -> None:
    told = run("work", "--list")
    assert told.code == 0
    assert "scan forget-done-jobs, every 1:00:00\n" in told.out
    assert list(data_dir.iterdir()) == []


def test_the_document_on_running_names_commands_and_settings_that_exist() -> None:
    text = (Path(__file__).parents[2] / "docs" / "operate.md").read_text()
    told = set(re.findall(r"(?:bin/|`)litreline ([a-z]+)", text))
    assert {"serve", "send", "work", "migrate"} <= told
    for command in told:
        parser().parse_args([command])
    settings = set(re.findall(r"LITRELINE_[A-Z_]+", text))
    assert settings <= {setting.name for setting in SETTINGS}


def test_jobs_need_a_file(run: Any, monkeypatch: Any) -> None:
    monkeypatch.setenv("LITRELINE_DATABASE_URL", "sqlite://")
    refused = run("work")
    assert refused.code == 2
    assert "LITRELINE_DATABASE_URL" in refused.err


def test_it_works_until_told_to_stop_and_keeps_its_notes_in_a_file_of_its_own(
    tmp_path: Path,
) -> None:
    environ = {**os.environ, "LITRELINE_DATA_DIR": str(tmp_path)}
    process = subprocess.Popen(
        [*COMMAND, "work"], env=environ, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    notes = tmp_path / "litreline-jobs.sqlite3"
    deadline = time.monotonic() + 20
    while not scans_done(notes) and time.monotonic() < deadline:
        time.sleep(0.05)
    process.send_signal(signal.SIGTERM)
    printed, warned = process.communicate(timeout=20)
    assert process.returncode == 0
    assert "Working; SIGTERM or Ctrl-C ends it" in printed
    assert "working at place 1" in warned
    assert scans_done(notes) >= 1
    with sqlite3.connect(tmp_path / "litreline.sqlite3") as database:
        tables = {name for (name,) in database.execute("SELECT name FROM sqlite_master")}
    database.close()
    assert "outbox" in tables
    assert "workflow_status" not in tables


def scans_done(notes: Path) -> int:
    if not notes.exists():
        return 0
    database = sqlite3.connect(notes)
    try:
        statement = "SELECT count(*) FROM workflow_status WHERE status = 'SUCCESS'"
        (count,) = database.execute(statement).fetchone()
    except sqlite3.OperationalError:
        return 0
    finally:
        database.close()
    return int(count)
