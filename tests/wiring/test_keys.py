"""The key that signs cookies: given, or made once and kept to oneself."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.wiring.files import FileTrouble
from service.wiring.keys import KEY_FILE, make_data_dir, new_id, secret_key


def test_a_given_key_is_used_and_nothing_written(tmp_path: Path) -> None:
    assert secret_key("given", tmp_path) == "given"
    assert list(tmp_path.iterdir()) == []


def test_a_key_is_made_once_and_read_by_its_owner_only(tmp_path: Path) -> None:
    key = secret_key("", tmp_path)
    assert len(key) == 64
    assert secret_key("", tmp_path) == key
    assert (tmp_path / KEY_FILE).stat().st_mode & 0o777 == 0o600


def test_an_empty_key_file_is_no_key(tmp_path: Path) -> None:
    (tmp_path / KEY_FILE).touch()
    with pytest.raises(FileTrouble, match="is empty: remove it"):
        secret_key("", tmp_path)


def test_a_data_dir_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(FileTrouble, match="cannot make the data dir"):
        make_data_dir(tmp_path / "file" / "data")
    with pytest.raises(FileTrouble, match="cannot write"):
        secret_key("", tmp_path / "missing")


def test_ids_are_long_and_differ() -> None:
    ids = {new_id() for _ in range(100)}
    assert len(ids) == 100
    assert {len(one) for one in ids} == {32}
