"""The crop table: complete, sourced, and equal to what FAO-56 prints."""

import csv
import io

import pytest

from service.errors import TextFileError
from service.sizing.crops import (
    CROP_COLUMNS,
    GROUPS_OF_VALUES,
    STAGE_COLUMNS,
    SaltTolerance,
    Source,
    StageRow,
    read_crops,
)
from service.sizing.kc import StageDays
from service.sizing.tables import standard_tables, table_text

CROPS = standard_tables().crops
STATUSES = {
    "read",
    "proxy",
    "read in a package",
    "from memory, not verified",
    "common practice, no source",
    "no value",
}


def test_there_are_crops_enough():
    assert len(CROPS) >= 30


@pytest.mark.parametrize(
    ("key", "values"),
    [
        # FAO-56 Tables 12 (Kc mid, end, height), 11 (stages), 22 (root depth, p), as printed.
        ("tomato", (1.15, 0.80, 0.6, (30, 40, 40, 25), (0.7, 1.5), 0.40)),
        ("onion", (1.05, 0.75, 0.4, (15, 25, 70, 40), (0.3, 0.6), 0.30)),
        ("cabbage", (1.05, 0.95, 0.4, (20, 30, 20, 10), (0.5, 0.8), 0.45)),
        ("watermelon", (1.00, 0.75, 0.4, (20, 30, 30, 30), (0.8, 1.5), 0.40)),
        ("dry_bean", (1.15, 0.35, 0.4, (15, 25, 35, 20), (0.6, 0.9), 0.45)),
        ("maize", (1.20, 0.35, 2.0, (20, 35, 40, 30), (1.0, 1.7), 0.55)),
    ],
)
def test_values_as_printed(key, values):
    crop = CROPS[key]
    stages = crop.stages
    lengths = (stages.initial, stages.development, stages.mid, stages.late)
    depths = (crop.root_min_m, crop.root_max_m)
    assert values == (
        crop.kc_mid, crop.kc_end, crop.height_m, lengths, depths, crop.depletion_fraction
    )  # fmt: skip


@pytest.mark.parametrize("crop", CROPS.values(), ids=lambda crop: crop.key)
def test_every_group_of_values_says_where_it_is_from(crop):
    for group, source in crop.sources.items():
        assert source.status in STATUSES, group
        if source.status in ("read", "proxy"):
            assert "FAO-56" in source.text, group


@pytest.mark.parametrize("crop", CROPS.values(), ids=lambda crop: crop.key)
def test_values_make_sense_together(crop):
    assert crop.root_min_m <= crop.root_max_m
    assert crop.plant_spacing_m <= crop.row_spacing_m
    assert crop.perennial == (crop.cycle != "season")
    assert (crop.stages is None) == (crop.cycle == "evergreen")


@pytest.mark.parametrize(
    "crop",
    [c for c in CROPS.values() if c.stages and c.sources["stage"].status == "read"],
    ids=lambda crop: crop.key,
)
def test_usual_season_is_one_of_the_printed_rows(crop):
    """FAO-56 Table 11; where a stage prints two values, the usual season takes one of them."""

    def near(row):
        pairs = zip(_lengths(row.days), _lengths(crop.stages), strict=True)
        return all(abs(a - b) <= 10 for a, b in pairs)

    assert any(near(row) for row in crop.seasons)


def _lengths(days):
    return (days.initial, days.development, days.mid, days.late)


def test_nil_yield_of_tomato():
    """FAO-56 Table 23, threshold 0.9 and slope 9 %: nothing left at 0.9 + 100/9 dS/m (eq. 89)."""
    assert CROPS["tomato"].salt.nil_yield_ds_m == pytest.approx(12.01, abs=0.01)


def test_a_crop_without_salt_figures_is_taken_by_its_rating():
    assert CROPS["eggplant"].salt.threshold_ds_m is None
    assert CROPS["eggplant"].salt.nil_yield_ds_m == 16
    assert CROPS["kale"].salt.nil_yield_ds_m == 8


def edited(line, column, value):
    rows = [row.split(",") for row in table_text("crops.csv").splitlines()]
    text = table_text("crops.csv").splitlines()
    cells = rows[line - 1]
    cells[CROP_COLUMNS.index(column)] = value
    text[line - 1] = ",".join(cells)
    return "\n".join(text)


@pytest.mark.parametrize(
    ("column", "value", "message"),
    [
        ("cycle", "sometimes", "'sometimes' is not one of season"),
        ("kc_mid", "1.9", "kc_mid: 1.9 is outside 0..1.5"),
        ("height_m", "tall", "height_m: 'tall' is not a number"),
        ("initial_days", "", "all four stage lengths or none"),
        ("height_source", "", "height_source is empty"),
        ("key", "tomato", "'tomato' stands twice"),
        ("ky_lo", '0.1","0.2', "another number of values"),
    ],
)
def test_a_broken_row_is_named_by_file_and_line(column, value, message):
    # The row of radish holds no quoted comma before the columns edited here.
    text = table_text("crops.csv")
    line = next(n for n, row in enumerate(text.splitlines(), 1) if row.startswith("radish,"))
    with pytest.raises(TextFileError, match=rf"crops\.csv:{line}: .*{message}"):
        read_crops(edited(line, column, value), ",".join(STAGE_COLUMNS), "crops.csv", "s.csv")


# --- a table read afresh: the package's own is read once and kept ------------------------------

# An invented crop with no figure twice, so that one taken from a wrong column shows.
INVENTED = {
    "key": "gourd", "name": "Long gourd", "group": "gourds", "cycle": "dormant",
    "kc_ini": "0.51", "kc_mid": "1.12", "kc_end": "0.73", "kc_note": "about the kc",
    "height_m": "0.45",
    "initial_days": "21", "development_days": "32", "mid_days": "43", "late_days": "14",
    "stage_note": "about the stages",
    "root_min_m": "0.62", "root_max_m": "1.36", "depletion_fraction": "0.47",
    "ece_threshold_lo_ds_m": "1.8", "ece_threshold_hi_ds_m": "2.9",
    "salt_slope_lo_pct": "5", "salt_slope_hi_pct": "8", "salt_rating": "MT",
    "ky_lo": "0.8", "ky_hi": "1.15", "row_spacing_m": "1.4", "plant_spacing_m": "0.35",
    "note": "about the crop",
}  # fmt: skip
for group in GROUPS_OF_VALUES:
    INVENTED |= {f"{group}_source": f"book of {group}", f"{group}_status": f"{group} seen"}
SEASON = {
    "crop": "gourd", "row_label": "gourds", "initial_days": "20", "development_days": "30/45",
    "mid_days": "50", "late_days": "15/25", "planting_months": "oct nov", "region": "a valley",
}  # fmt: skip


def table_of(columns, *rows):
    text = io.StringIO()
    writer = csv.DictWriter(text, columns, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def crops_of(*rows, seasons=()):
    stages = table_of(STAGE_COLUMNS, *seasons)
    return read_crops(table_of(CROP_COLUMNS, *rows), stages, "crops.csv", "stages.csv")


def test_every_figure_of_a_crop_comes_from_its_own_column():
    crop = crops_of(INVENTED)["gourd"]
    assert (crop.key, crop.name, crop.group) == ("gourd", "Long gourd", "gourds")
    assert crop.cycle == "dormant"
    assert crop.perennial
    assert (crop.kc_ini, crop.kc_mid, crop.kc_end, crop.height_m) == (0.51, 1.12, 0.73, 0.45)
    assert crop.stages == StageDays(21, 32, 43, 14)
    assert (crop.root_min_m, crop.root_max_m, crop.depletion_fraction) == (0.62, 1.36, 0.47)
    # The cautious ends: the lowest salt at which yield falls, the steepest fall, the highest Ky.
    assert crop.salt == SaltTolerance(1.8, 8, "MT")
    assert crop.ky == 1.15
    assert (crop.row_spacing_m, crop.plant_spacing_m) == (1.4, 0.35)


def test_each_group_has_its_source_and_the_note_that_belongs_to_it():
    sources = crops_of(INVENTED)["gourd"].sources
    notes = {"kc": "about the kc", "stage": "about the stages"}
    assert sources == {
        group: Source(f"book of {group}", f"{group} seen", notes.get(group, "about the crop"))
        for group in GROUPS_OF_VALUES
    }


def test_a_stage_printed_as_two_lengths_is_taken_in_their_middle():
    other, sown_later = {**INVENTED, "key": "melon"}, {**SEASON, "planting_months": "jan"}
    crops = crops_of(INVENTED, other, seasons=[SEASON, sown_later])
    days = StageDays(20, 37.5, 50, 20)  # (30 + 45) / 2 and (15 + 25) / 2
    assert crops["gourd"].seasons == (
        StageRow(days, "oct nov", "a valley"),
        StageRow(days, "jan", "a valley"),
    )
    assert crops["melon"].seasons == ()


def test_only_an_evergreen_crop_may_do_without_stages_and_none_are_kept_of_it():
    """Printed lengths of its year would let the water of a crop grown in for good rise and fall."""
    bare = INVENTED | dict.fromkeys(
        ("initial_days", "development_days", "mid_days", "late_days"), ""
    )
    for row in (INVENTED, bare):
        crop = crops_of({**row, "cycle": "evergreen"})["gourd"]
        assert crop.stages is None
        assert crop.steady_kc == 1.12
    for cycle in ("season", "dormant", "grows_in"):
        with pytest.raises(TextFileError, match=r"^crops\.csv:2: stage lengths are missing"):
            crops_of({**bare, "cycle": cycle})


def test_a_broken_row_of_the_stages_names_their_own_file():
    with pytest.raises(TextFileError, match=r"^stages\.csv:3: .*'soon'"):
        crops_of(INVENTED, seasons=[SEASON, {**SEASON, "mid_days": "soon"}])


@pytest.mark.parametrize("status", ["read", "proxy"])
def test_what_was_read_says_where(status):
    with pytest.raises(TextFileError, match="ky_source is empty"):
        crops_of({**INVENTED, "ky_source": "", "ky_status": status})
