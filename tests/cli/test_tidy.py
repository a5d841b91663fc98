"""`litreline tidy`."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from service.channels import IncomingText
from service.settings import read_settings
from service.wiring.build import build


def test_it_tells_what_it_deleted_and_then_nothing(run: Any, data_dir: Path) -> None:
    run("migrate")
    service = build(read_settings({"LITRELINE_DATA_DIR": str(data_dir)}))
    for days in (400, 1):
        at = datetime.now(UTC) - timedelta(days=days)
        number = f"+1000555{days:04d}"
        service.texts.take(IncomingText("http", f"m{days}", number, "12345", "hello"), at)
    service.database.close()
    first, second = run("tidy"), run("tidy")
    assert first.code == 0
    assert first.out.splitlines() == [
        "messages without a receipt, now unknown: 0",
        "rows of sent messages deleted: 0",
        "texts that came in deleted: 1",
        "conversations deleted: 1",
    ]
    assert {line.rpartition(" ")[2] for line in second.out.splitlines()} == {"0"}


def test_a_database_that_was_never_migrated_is_refused(run: Any, data_dir: Path) -> None:
    data_dir.mkdir()
    refused = run("tidy")
    assert refused.code == 2
    assert "run `litreline migrate`" in refused.err
