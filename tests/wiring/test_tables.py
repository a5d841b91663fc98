"""Districts and prices: a deployment's own, or the invented ones with a word about it."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.errors import TextFileError
from service.wiring.files import scenario_file
from service.wiring.tables import load_tables


def test_without_files_the_invented_valley_is_loaded_and_said_to_be_invented() -> None:
    loaded = load_tables(None, None)
    assert len(loaded.tables.districts) == 3
    assert loaded.tables.prices is not None
    assert loaded.notice == (
        "districts and prices are invented, for trying the service:"
        " set LITRELINE_DISTRICTS and LITRELINE_PRICES to load real ones"
    )


def test_own_files_are_taken_for_real() -> None:
    loaded = load_tables(scenario_file("districts.csv"), scenario_file("prices.csv"))
    assert (loaded.invented, loaded.notice) == ((), "")


def test_one_own_file_leaves_the_other_invented() -> None:
    loaded = load_tables(scenario_file("districts.csv"), None)
    assert loaded.notice == (
        "prices are invented, for trying the service: set LITRELINE_PRICES to load real ones"
    )


def test_a_file_that_is_no_table_is_refused_with_its_name(tmp_path: Path) -> None:
    (tmp_path / "mine.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    with pytest.raises(TextFileError, match=r"mine\.csv:1"):
        load_tables(tmp_path / "mine.csv", None)
    with pytest.raises(TextFileError, match=r"mine\.csv:1"):
        load_tables(None, tmp_path / "mine.csv")
