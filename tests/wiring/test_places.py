"""Clocks and holidays of districts: from the settings, or a file with every bad row told."""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from service.errors import TextFileError
from service.settings import SettingError, read_settings
from service.wiring.places import COLUMNS, make_places, read_places


def settings(data_dir: Path, **values: str):
    return read_settings({"LITRELINE_DATA_DIR": str(data_dir), **values})


def test_holidays_and_places_come_from_the_settings(tmp_path):
    file = tmp_path / "places.csv"
    file.write_text(f"{','.join(COLUMNS)}\nvelmora,Asia/Kolkata,IN-KA\naruneth,UTC,\n")
    made = make_places(
        settings(
            tmp_path,
            LITRELINE_TIME_ZONE="Africa/Nairobi",
            LITRELINE_HOLIDAYS="KE",
            LITRELINE_PLACES=str(file),
        )
    )
    noon = datetime(2026, 11, 25, 12, tzinfo=UTC)
    assert made.local("kotsindo", noon).hour == 15
    assert (made.local("velmora", noon).hour, made.local("velmora", noon).minute) == (17, 30)
    assert made.hours("kotsindo").holiday(date(2026, 12, 12))
    assert not made.hours("aruneth").holiday(date(2026, 12, 12))


def test_a_country_nobody_knows_is_refused(tmp_path):
    with pytest.raises(SettingError, match="LITRELINE_HOLIDAYS"):
        make_places(settings(tmp_path, LITRELINE_HOLIDAYS="XX"))


def test_every_bad_row_of_places_is_told(tmp_path):
    file = tmp_path / "places.csv"
    file.write_text("district,time_zone,holidays\nvelmora,Nairobi,\n,UTC,\naruneth,UTC,XX\n")
    with pytest.raises(TextFileError) as refused:
        read_places(file)
    assert [problem.line for problem in refused.value.problems] == [2, 3, 4]
    file.write_text("name,zone\n")
    with pytest.raises(TextFileError, match="district,time_zone,holidays"):
        read_places(file)
