"""Several crops on one plot, by line."""

import datetime

import pytest

from service.errors import CardError
from service.sizing.card import assumed_values, read_card
from service.sizing.cases import added_up, case_of, plantings, plot_climate, plot_soil
from service.sizing.climate import read_districts
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
    assert (tomato.lines, onion.lines) == (12, 8)
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


def test_the_only_crop_of_a_card_without_a_day_is_planted_today():
    (tomato,) = plantings(read_card({**BARE, "crop": "tomato"}), TABLES, TODAY)
    assert (tomato.planted, tomato.assumed) == (TODAY, True)
    assert (tomato.lines, tomato.share) == (None, 1)


def test_a_card_of_a_district_has_its_climate():
    rows = [f"tal,Tal,{month},4.5,60" for month in range(1, 13)]
    text = "\n".join(["district_id,district_name,month,eto_mm_day,rain_mm", *rows])
    tables = TABLES.with_districts(read_districts(text, "d.csv"))
    bare = {key: value for key, value in BARE.items() if key != "climate"}
    card = read_card({**bare, "crop": "tomato", "district": "tal"})
    (tomato,) = plantings(card, tables, TODAY)
    assert case_of(card, tables, tomato, 0.9).climate == tables.districts["tal"].climate


@pytest.mark.parametrize(("said", "salt"), [({}, 0), ({"water_ec_ds_m": 3}, 3)])
def test_the_salt_of_the_water_is_the_cards(said, salt):
    card = read_card({**BARE, **said, "crop": "tomato"})
    (tomato,) = plantings(card, TABLES, TODAY)
    assert case_of(card, TABLES, tomato, 0.9).water_ec_ds_m == salt


def test_each_crop_of_a_plot_says_its_own_trouble_with_salt_and_the_plot_its_own_once():
    """Both suffer from 3 dS/m, each by its own share; the layout is uneven for all at once."""
    card = read_card({**BARE, "water_ec_ds_m": 3, "crops": TWO})
    own = [
        water_need(case_of(card, TABLES, planting, 0.4), TODAY)
        for planting in plantings(card, TABLES, TODAY)
    ]
    whole = added_up(own)
    codes = [warning.code for warning in whole.warnings]
    assert codes.count("salty_water") == 2
    assert codes.count("uniformity_too_low_for_litres") == 1


def test_salt_and_days_of_a_plot_are_those_of_its_neediest_crop():
    """Onion needs more washing than tomato and is planted in the month; tomato grows all of it."""
    card = read_card({**BARE, "water_ec_ds_m": 2, "crops": TWO})
    tomato, onion = needs(card)
    whole = added_up([tomato, onion])
    assert whole.leaching == onion.leaching > tomato.leaching > 0
    assert [need.growing_days for need in whole.months[:2]] == [30, 31]
    assert whole.now.growing_days == 1


def test_rain_of_a_plot_is_the_mean_over_its_ground():
    """Grown tomato drinks all of the rain that counts, seedlings of onion the strip's 0.4 of it."""
    card = read_card({**BARE, "climate": {"eto_mm_day": 5, "rain_mm_day": 3}, "crops": TWO})
    tomato, onion = needs(card)
    whole = added_up([tomato, onion])
    # 3 mm/day are 91.3 mm a month, of which 0.8 P - 24 counts: 3 x 0.8 - 24 x 12 / 365.25.
    counted = 2.4 - 24 * 12 / 365.25
    expected = 0.6 * tomato.now.rain_mm_day + 0.4 * onion.now.rain_mm_day
    assert whole.now.rain_mm_day == pytest.approx(expected)
    assert tomato.now.rain_mm_day == pytest.approx(counted)
