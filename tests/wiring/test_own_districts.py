"""A deployment's own districts: checked whole, kept, used from the next start on."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from service.errors import TextFileError
from service.settings import read_settings
from service.wiring.files import FileTrouble, scenario_file
from service.wiring.own_districts import districts_file, load_districts, own_districts
from service.wiring.tables import load_tables

GOOD = scenario_file("districts.csv").read_text(encoding="utf-8")
MINE = GOOD.replace("velmora,Velmora", "mine,Mine")


def table(folder: Path, text: str, name: str = "table.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_good_table_is_kept_and_used(tmp_path: Path) -> None:
    data = tmp_path / "data"
    assert own_districts(data) is None
    found = load_districts(table(tmp_path, MINE), data)
    assert set(found) == {"mine", "aruneth", "kotsindo"}
    kept = own_districts(data)
    assert set(load_tables(kept, None).tables.districts) == set(found)
    assert "districts" not in load_tables(kept, None).invented


def test_a_bad_row_leaves_the_table_before(tmp_path: Path) -> None:
    data = tmp_path / "data"
    load_districts(table(tmp_path, MINE), data)
    lines = GOOD.splitlines()
    lines[4] = lines[4].replace("23.9", "3.9", 1)
    lines[6] = lines[6].replace(",0,", ",-5,", 1)
    with pytest.raises(TextFileError) as caught:
        load_districts(table(tmp_path, "\n".join(lines)), data)
    assert "table.csv:5" in str(caught.value)
    kept = own_districts(data)
    assert kept is not None
    assert kept.read_text(encoding="utf-8") == MINE


@pytest.mark.parametrize("text", ["", "a,b\n1,2\n", GOOD.splitlines()[1] + "\n"])
def test_a_table_without_districts_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(TextFileError):
        load_districts(table(tmp_path, text), tmp_path / "data")
    assert own_districts(tmp_path / "data") is None


def test_a_table_that_is_not_there_or_not_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileTrouble, match="cannot be read"):
        load_districts(tmp_path / "none.csv", tmp_path / "data")
    (tmp_path / "sheet.xls").write_bytes(b"\xd0\xcf\x11\xe0")
    with pytest.raises(FileTrouble, match="not UTF-8"):
        load_districts(tmp_path / "sheet.xls", tmp_path / "data")


def test_nothing_is_left_lying_about(tmp_path: Path) -> None:
    data = tmp_path / "data"
    load_districts(table(tmp_path, MINE), data)
    load_districts(table(tmp_path, GOOD), data)
    assert [path.name for path in data.iterdir()] == ["districts.csv"]


def test_a_write_that_fails_leaves_the_table_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk fails at the very last step: the old table is still there, whole."""
    data = tmp_path / "data"
    load_districts(table(tmp_path, MINE), data)

    def full(old: str, new: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(FileTrouble, match="No space left"):
        load_districts(table(tmp_path, GOOD), data)
    assert (data / "districts.csv").read_text(encoding="utf-8") == MINE
    assert [path.name for path in data.iterdir()] == ["districts.csv"]


def test_the_setting_goes_before_what_was_loaded(tmp_path: Path) -> None:
    data = tmp_path / "data"
    load_districts(table(tmp_path, MINE), data)
    named = table(tmp_path, GOOD, "named.csv")
    plain = read_settings({"LITRELINE_DATA_DIR": str(data)})
    assert districts_file(plain) == data / "districts.csv"
    set_too = {"LITRELINE_DATA_DIR": str(data), "LITRELINE_DISTRICTS": str(named)}
    assert districts_file(read_settings(set_too)) == named
    assert districts_file(read_settings({"LITRELINE_DATA_DIR": str(tmp_path)})) is None
