import datetime
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import CardError
from service.sizing.card import assumed_values, read_card


def test_shortest_card_takes_the_usual_values(bare):
    card = read_card(json.dumps(bare))
    assert card.dripline.inner_diameter_mm == 13.6
    assert card.tank.water_depth_m == 1.0
    assert card.submain.inner_diameter_mm is None
    assert card.spacing_m == 1.0


def test_usual_values_are_named_and_given_ones_are_not(bare):
    bare["dripline"] = {"exponent": 0.5}
    assumed = {one.field: one.value for one in assumed_values(read_card(bare))}
    assert assumed["dripline.emitter_spacing_m"] == 0.3
    assert assumed["line_spacing_m"] == 1.0
    assert assumed["plot.slope_length_pct"] == 0.0
    assert "dripline.exponent" not in assumed
    assert "submain.inner_diameter_mm" not in assumed


def test_whole_card_is_read(bare):
    bare |= {
        "submain": {"inner_diameter_mm": 21, "second": {"inner_diameter_mm": 17, "from_tap": 4}},
        "crop": "tomato",
        "planting_date": "2026-03-15",
        "climate": {"eto_mm_day": [5] * 12, "rain_mm_day": 0.5},
        "supply": {"fill": "bucket", "litres_per_day": 600},
        "layout": {"tank_position": "corner", "lines_run": "width", "blocks": 2},
    }
    card = read_card(bare)
    assert card.planting_date == datetime.date(2026, 3, 15)
    assert card.climate.eto_mm_day == (5.0,) * 12
    assert card.layout.blocks == 2


REFUSED = [
    ("plot.length_m", "20", "0.5 to 500 m; example 20"),
    ("plot.length_m", True, "0.5 to 500 m"),
    ("plot.length_m", 0, "0.5 to 500 m"),
    ("plot.length_m", float("nan"), "0.5 to 500 m"),
    ("plot.width_m", float("inf"), "0.5 to 500 m"),
    ("plot.width_m", 10**400, "0.5 to 500 m"),
    ("plot.width_m", None, "0.5 to 500 m"),
    ("tank.volume_l", [500], "5 to 100000 L"),
    ("tank.outlet_height_m", 1.0, "below tank.water_depth_m"),
    ("tank.shape", "round", "upright or lying"),
    ("stand_height_m", -1, "0 to 10 m"),
    ("layout.blocks", 5, "a whole number from 1 to 4"),
    ("layout.blocks", 2.5, "a whole number from 1 to 4"),
    ("layout.tank_position", "middle", "corner or mid_side"),
    ("crop", 5, "a crop of the tables"),
    ("planting_date", "15/3/2026", "year-month-day"),
    ("planting_date", 20260315, "year-month-day"),
    ("filter", 1, "true or false"),
    ("climate.eto_mm_day", [5] * 11, "a list of twelve"),
    ("plot.lenght_m", 20, "did you mean length_m?"),
    ("stand", 2, "did you mean"),
    ("tank", 5, "an object"),
]


@pytest.mark.parametrize(("field", "value", "words"), REFUSED)
def test_refused_with_field_value_and_what_is_allowed(bare, field, value, words):
    *path, last = field.split(".")
    part = bare
    for step in path:
        part = part.setdefault(step, {})
    part[last] = value
    with pytest.raises(CardError) as caught:
        read_card(bare)
    problem = next(one for one in caught.value.problems if one.field == field)
    assert words in problem.allowed


def test_every_problem_is_named_at_once(bare):
    bare["plot"] = {"length_m": "20"}
    bare["stand_height_m"] = 99
    with pytest.raises(CardError) as caught:
        read_card(bare)
    fields = [one.field for one in caught.value.problems]
    assert fields == ["plot.length_m", "plot.width_m", "stand_height_m"]


def test_one_bad_month_is_named_by_its_place(bare):
    bare["climate"] = {"eto_mm_day": [5] * 11 + ["wet"]}
    with pytest.raises(CardError) as caught:
        read_card(bare)
    assert [one.field for one in caught.value.problems] == ["climate.eto_mm_day.11"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('{"plot": 1, "plot": 2}', "once"),
        ('{"plot": NaN}', "ordinary numbers"),
        ('{"plot": -Infinity}', "ordinary numbers"),
        ("[]", "one JSON object"),
        ("{", "cannot be read"),
        ("[" * 100_000, "cannot be read"),
        (b"\xff\xfe\xfa", "cannot be read"),
    ],
)
def test_text_that_is_no_card(text, words):
    with pytest.raises(CardError, match=words):
        read_card(text)


def test_lying_drum_needs_its_diameter(bare):
    bare["tank"] = {"volume_l": 200, "shape": "lying"}
    with pytest.raises(CardError, match="inside diameter"):
        read_card(bare)


def test_second_bore_may_not_be_wider(bare):
    bare["submain"] = {
        "inner_diameter_mm": 17.4,
        "second": {"inner_diameter_mm": 21.8, "from_tap": 2},
    }
    with pytest.raises(CardError, match=r"at most submain\.inner_diameter_mm"):
        read_card(bare)


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inside: (
        st.lists(inside, max_size=3)
        | st.dictionaries(st.sampled_from(["plot", "tank", "length_m", "x"]), inside, max_size=3)
    ),
    max_leaves=8,
)


@given(st.dictionaries(st.sampled_from(["plot", "tank", "crop", "climate", "oops"]), ANYTHING))
def test_any_rubbish_is_refused_by_name(raw):
    with pytest.raises(CardError) as caught:
        read_card(raw)
    assert all(problem.field and problem.allowed for problem in caught.value.problems)
