"""The soil table against FAO-56 Table 19."""

import pytest

from service.errors import TextFileError
from service.sizing.soils import SOIL_COLUMNS, USUAL_SOIL, read_soils
from service.sizing.tables import standard_tables, table_text

SOILS = standard_tables().soils


@pytest.mark.parametrize(
    ("key", "capacity", "wilting", "rew", "tew"),
    [
        # Printed ranges, FAO-56 Table 19, p. 144: theta FC, theta WP, REW, TEW (Ze 0.10 m).
        ("sand", (0.07, 0.17), (0.02, 0.07), (2, 7), (6, 12)),
        ("sandy_loam", (0.18, 0.28), (0.06, 0.16), (6, 10), (15, 20)),
        ("loam", (0.20, 0.30), (0.07, 0.17), (8, 10), (16, 22)),
        ("clay_loam", (0.30, 0.37), (0.17, 0.24), (8, 11), (22, 27)),
        ("clay", (0.32, 0.40), (0.20, 0.24), (8, 12), (22, 29)),
    ],
)
def test_middle_of_the_printed_ranges(key, capacity, wilting, rew, tew):
    soil = SOILS[key]
    assert soil.field_capacity == pytest.approx(sum(capacity) / 2)
    assert soil.wilting_point == pytest.approx(sum(wilting) / 2)
    assert soil.rew_mm == pytest.approx(sum(rew) / 2)
    assert soil.tew_mm == pytest.approx(sum(tew) / 2)


def test_classes_run_from_light_to_heavy():
    rates = [soil.infiltration_low_mm_h for soil in SOILS.values()]
    assert rates == sorted(rates, reverse=True)
    assert USUAL_SOIL in SOILS


def test_sources_are_honest():
    for soil in SOILS.values():
        assert soil.source.startswith("FAO-56 Table 19")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("0.25,0.12", "0.10,0.12", "wilting_point must be below field_capacity"),
        ("loam,medium", "loam,middling", "'middling' is not one of"),
        ("0.25,0.12", "0.12,0.12", "wilting_point must be below field_capacity"),
        ("0.25,0.12", "0;25,0.12", "field_capacity: '0;25' is not a number$"),
        ("0.25,0.12", '"0,25",0.12', "is not a number; write a decimal point, not a comma$"),
        # A decimal comma without quotes would shift every value behind it by a column.
        ("0.25,0.12", "0,25,0.12", "this row has another number of values"),
    ],
)
def test_a_broken_row_is_named_by_file_and_line(old, new, message):
    head, loam = ",".join(SOIL_COLUMNS), table_text("soils.csv").splitlines()[3]
    with pytest.raises(TextFileError, match=rf"soils\.csv:2: .*{message}"):
        read_soils(f"{head}\n{loam.replace(old, new)}\n", "soils.csv")


def test_every_figure_of_a_soil_comes_from_its_own_column():
    """Read afresh, from an invented row with no figure twice: the package's table is kept."""
    row = "silt,Silt,like flour,silt loam,fine,0.31,0.14,7,21,a book,seen,6,12,,,0.35,,\n"
    # The mark that some spreadsheets write before the first word is no part of it.
    (soil,) = read_soils("\ufeff" + ",".join(SOIL_COLUMNS) + "\n" + row, "soils.csv").values()
    assert (soil.key, soil.name, soil.feel) == ("silt", "Silt", "like flour")
    assert (soil.texture, soil.group) == ("silt loam", "fine")
    assert soil.available_mm_per_m == pytest.approx(170)  # 0.31 - 0.14 m3/m3 of 1000 mm
    assert (soil.rew_mm, soil.tew_mm) == (7, 21)
    assert (soil.infiltration_low_mm_h, soil.infiltration_high_mm_h) == (6, 12)
    assert soil.emitter_spacing_max_m == 0.35
    assert soil.source == "a book (seen)"


def test_another_heading_is_refused():
    with pytest.raises(TextFileError, match="the first line must be key,name"):
        read_soils("key;name\n", "soils.csv")
