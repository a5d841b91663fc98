"""Several crops on one plot, by line."""

import datetime

import pytest

from service.errors import CardError
from service.sizing.card import assumed_values, read_card
from service.sizing.cases import added_up, case_of, plantings, plot_climate, plot_soil
from service.sizing.tables import standard_tables
from service.sizing.watering import water_need

TABLES = standard_tables()
TODAY = datetime.date(2026, 11, 25)
BARE = {
    "plot": {"length_m": 20, "width_m": 20},
    "tank": {"volume_l": 500},
    "stand_height_m": 2.5,
    "climate": {"eto_mm_day": 5},
}
TWO = [
    {"crop": "tomato", "lines": 12, "planting_date": "2026-09-01"},
    {"crop": "onion", "lines": 8, "planting_date": "2026-11-01"},
]


def needs(card):
    return [
        water_need(case_of(card, TABLES, planting, 0.9), TODAY)
        for planting in plantings(card, TABLES, TODAY)
    ]


def test_each_crop_has_the_ground_of_its_lines():
    card = read_card({**BARE, "crops": TWO})
    tomato, onion = plantings(card, TABLES, TODAY)
    assert (tomato.share, onion.share) == (pytest.approx(0.6), pytest.approx(0.4))
    assert [need.case.area_m2 for need in needs(card)] == [pytest.approx(240), pytest.approx(160)]
    assert onion.planted == datetime.date(2026, 11, 1)


def test_litres_add_up_and_depths_are_means():
    """On one day 12 lines of tomato and 8 of onion take what each would take on its own plot."""
    card = read_card({**BARE, "crops": TWO})
    tomato, onion = needs(card)
    whole = added_up([tomato, onion])
    assert whole.now.gross_l_day == pytest.approx(tomato.now.gross_l_day + onion.now.gross_l_day)
    assert whole.now.kc == pytest.approx(0.6 * tomato.now.kc + 0.4 * onion.now.kc)
    assert whole.now.gross_l_day == pytest.approx(400 * whole.now.net_mm_day / 0.9)
    assert whole.case.area_m2 == pytest.approx(400)


def test_each_month_stands_once_and_in_order():
    whole = added_up(needs(read_card({**BARE, "crops": TWO})))
    months = [(need.day.year, need.day.month) for need in whole.months]
    assert months == sorted(set(months))
    assert months[0] == (2026, 9)
    assert months[-1] == (2027, 3)
    assert whole.peak.gross_l_day == max(need.gross_l_day for need in whole.months)


def test_one_crop_on_all_lines_is_the_plot_itself():
    one = read_card({**BARE, "crop": "tomato", "planting_date": "2026-09-01"})
    listed = read_card(
        {**BARE, "crops": [{"crop": "tomato", "lines": 20, "planting_date": "2026-09-01"}]}
    )
    assert added_up(needs(one)).months == added_up(needs(listed)).months


def test_the_cards_own_day_stands_in_for_a_missing_one():
    card = read_card(
        {**BARE, "planting_date": "2026-10-10", "crops": [{"crop": "okra", "lines": 4}]}
    )
    (okra,) = plantings(card, TABLES, TODAY)
    assert (okra.planted, okra.assumed) == (datetime.date(2026, 10, 10), False)
    card = read_card({**BARE, "crops": [{"crop": "okra", "lines": 4}]})
    (okra,) = plantings(card, TABLES, TODAY)
    assert (okra.planted, okra.assumed) == (TODAY, True)


def test_a_card_without_a_crop_has_none_and_nothing_is_assumed_of_it():
    card = read_card(BARE)
    assert plantings(card, TABLES, TODAY) == ()
    assert "crops" not in {assumed.field for assumed in assumed_values(card)}


@pytest.mark.parametrize(
    ("crops", "field", "words"),
    [
        ([{"crop": "tomato", "lines": 0}], "crops.0.lines", "from 1 to 1000"),
        ([{"crop": "tomato"}], "crops.0.lines", "missing"),
        ([{"crop": "tomato", "line": 3, "lines": 2}], "crops.0.line", "did you mean lines?"),
        ("tomato", "crops", "a list of crops"),
        ([{"crop": "tomato", "lines": 2, "planting_date": "soon"}], "crops.0.planting_date", "day"),
    ],
)
def test_crops_that_cannot_be_used_are_refused_by_name(crops, field, words):
    with pytest.raises(CardError) as caught:
        read_card({**BARE, "crops": crops})
    assert [problem.field for problem in caught.value.problems] == [field]
    assert words in caught.value.problems[0].allowed


def test_a_crop_and_crops_together_are_refused():
    with pytest.raises(CardError, match="either crop or crops"):
        read_card({**BARE, "crop": "tomato", "crops": TWO})


def test_an_unknown_crop_of_a_list_is_named_by_its_place():
    card = read_card({**BARE, "crops": [{"crop": "okra", "lines": 4}, {"crop": "okr", "lines": 4}]})
    with pytest.raises(CardError, match=r"crops\.1\.crop.*okra"):
        plantings(card, TABLES, TODAY)


def test_climate_and_soil_of_a_card_that_names_neither_are_the_cautious_ones():
    card = read_card({key: value for key, value in BARE.items() if key != "climate"})
    assert plot_climate(card, TABLES).origin == "class"
    assert plot_soil(card, TABLES).key == "loam"
