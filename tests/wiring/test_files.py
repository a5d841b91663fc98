"""Where files are looked for, and what is said of one that cannot be read."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.wiring import files
from service.wiring.files import FileTrouble


def test_in_a_checkout_conversations_and_catalogues_stand_at_the_top() -> None:
    assert files.folder("flows") == Path(__file__).parents[2] / "flows"
    assert {"flows/start.yaml", "flows/plan.yaml"} <= set(files.flow_files())
    assert all(text.strip() for text in files.flow_files().values())


def test_installed_they_stand_beside_the_code(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another package's `flows` next to ours must not be taken for it."""
    package = tmp_path / "site-packages" / "service"
    (package / "flows").mkdir(parents=True)
    (package / "flows" / "a.yaml").write_text("flow: a\n", encoding="utf-8")
    (package / "locales" / "sw" / "LC_MESSAGES").mkdir(parents=True)
    (package / "locales" / "sw" / "LC_MESSAGES" / "litreline.po").write_text("# po\n")
    (package.parent / "flows").mkdir()
    monkeypatch.setattr(files, "PACKAGE", package)
    assert files.flow_files() == {"flows/a.yaml": "flow: a\n"}
    assert files.catalogue_files() == {"sw": "# po\n"}


def test_a_missing_folder_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "PACKAGE", tmp_path / "service")
    with pytest.raises(FileTrouble, match="the folder flows is missing"):
        files.flow_files()


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    (tmp_path / "latin.csv").write_bytes(b"name\nCaf\xe9\n")
    with pytest.raises(FileTrouble, match=r"latin\.csv is not UTF-8 text \(octet 8\)"):
        files.read_text(tmp_path / "latin.csv")
    with pytest.raises(FileTrouble, match=r"none\.csv cannot be read: No such file"):
        files.read_text(tmp_path / "none.csv")


def test_the_mark_that_some_editors_write_first_is_dropped(tmp_path: Path) -> None:
    (tmp_path / "table.csv").write_bytes("﻿item,price".encode())
    assert files.read_text(tmp_path / "table.csv") == "item,price"
