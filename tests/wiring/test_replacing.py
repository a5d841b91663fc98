"""A file is replaced whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.wiring.files import FileTrouble
from service.wiring.replacing import replace_file


def test_a_new_file_and_one_in_place_of_another(tmp_path: Path) -> None:
    path = tmp_path / "x.txt"
    replace_file(path, b"one")
    assert path.read_bytes() == b"one"
    replace_file(path, b"two")
    assert path.read_bytes() == b"two"
    assert path.stat().st_mode & 0o777 == 0o644
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_is_missing_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileTrouble, match="cannot write"):
        replace_file(tmp_path / "none" / "x.txt", b"one")


def test_a_folder_in_the_way_is_told_and_nothing_is_left(tmp_path: Path) -> None:
    (tmp_path / "x.txt").mkdir()
    with pytest.raises(FileTrouble, match="cannot write"):
        replace_file(tmp_path / "x.txt", b"one")
    assert [path.name for path in tmp_path.iterdir()] == ["x.txt"]
