"""A plan for a plot with several crops."""

import pytest

from service.advice import plan

CROPS = [
    {"crop": "tomato", "lines": 12, "planting_date": "2026-09-10"},
    {"crop": "onion", "lines": 8, "planting_date": "2026-11-01"},
]


@pytest.fixture
def two(card, tables):
    return plan(card(crop=None, crops=CROPS), tables)


def codes(made):
    return {warning.code: warning for warning in made.warnings}


def test_each_crop_has_rows_of_its_own_and_litres_add_up(two):
    tomato = two.crops[0]
    assert (tomato.crop, tomato.lines, tomato.area_m2) == ("tomato", 12, pytest.approx(240))
    for row in two.watering:
        own = [
            month.gross_l_day
            for crop in two.crops
            for month in crop.watering
            if (month.year, month.month) == (row.year, row.month)
        ]
        assert row.gross_l_day == pytest.approx(sum(own))
    assert two.supply.peak_l_day == max(row.gross_l_day for row in two.watering)


def test_a_crops_litres_are_those_of_a_plot_of_its_own_size(two, card, tables):
    """240 m² of tomato: as a plan of 20 m by 12 m with the same day and evenness."""
    small = plan(card(plot={"length_m": 20, "width_m": 12}, planting_date="2026-09-10"), tables)
    uniformity = [
        made.layouts[made.recommended].full_tank.emission_uniformity_pct for made in (two, small)
    ]
    pairs = zip(two.crops[0].watering, small.watering, strict=True)
    for ours, alone in pairs:
        assert ours.gross_l_day * uniformity[0] == pytest.approx(alone.gross_l_day * uniformity[1])


def test_the_valve_stays_open_for_the_thirstiest(two):
    for row in two.watering:
        own = [
            month.minutes_per_day
            for crop in two.crops
            for month in crop.watering
            if (month.year, month.month) == (row.year, row.month)
        ]
        assert row.minutes_per_day == max(own)


def test_what_needs_taps_of_its_own_is_said(two):
    differ = codes(two)["crops_differ"]
    assert set(differ.minutes) == {"tomato", "onion"}
    assert "crop_lines_differ" not in codes(two)


def test_lines_that_are_not_the_layouts_are_said(card, tables):
    made = plan(card(crop=None, crops=[{"crop": "tomato", "lines": 7}]), tables)
    assert made.crops == ()
    made = plan(card(crop=None, crops=[*CROPS, {"crop": "okra", "lines": 3}]), tables)
    differ = codes(made)["crop_lines_differ"]
    assert (differ.lines_given, differ.line_count) == (23, 20)


def test_one_crop_planted_in_two_turns_is_named_by_its_days(card, tables):
    turns = [
        {"crop": "tomato", "lines": 10, "planting_date": "2026-09-01"},
        {"crop": "tomato", "lines": 10, "planting_date": "2026-11-20"},
    ]
    made = plan(card(crop=None, crops=turns), tables)
    assert [crop.planting_date for crop in made.crops] == ["2026-09-01", "2026-11-20"]
    assert set(codes(made)["crops_differ"].minutes) == {
        "tomato of 2026-09-01", "tomato of 2026-11-20",
    }  # fmt: skip


def test_a_plain_card_has_no_rows_by_crop(card, tables):
    made = plan(card(), tables)
    assert made.crops == ()
    assert made.now is not None
