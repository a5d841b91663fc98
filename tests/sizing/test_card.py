import datetime
import json
import math
from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from service.errors import CardError
from service.sizing.card import Tank, assumed_values, read_card
from service.sizing.card_text import Number, OneOrTwelve, Whole


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


def test_what_is_wrong_in_whole_sentences(bare):
    bare["plot"] = {"lenght_m": 20}
    bare["tank"] = 5
    with pytest.raises(CardError) as caught:
        read_card(bare)
    assert str(caught.value).splitlines() == [
        "plot.length_m: it is missing; allowed: 0.5 to 500 m; example 20",
        "plot.width_m: it is missing; allowed: 0.5 to 500 m; example 15",
        "plot.lenght_m: 20 is not allowed; there is no such field; did you mean length_m? "
        "allowed: length_m, width_m, slope_length_pct, slope_width_pct",
        "tank: 5 is not allowed; allowed: an object with fields of its own",
    ]
    bare["plot"] = {"length_m": 20, "width_m": 15, "zzz": 1}
    with pytest.raises(CardError, match="no such field; allowed: length_m"):
        read_card(bare)
    with pytest.raises(CardError, match=r"^card: 5 is not allowed; allowed: an object"):
        read_card(5)


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
        ('{"plot": 1, "plot": 2}', r"plot: 2 .*allowed: once; the card names it twice$"),
        ('{"plot": NaN}', r"card: 'NaN' .*allowed: ordinary numbers; example 1\.5$"),
        ('{"plot": -Infinity}', "ordinary numbers"),
        ("[]", r"allowed: one JSON object$"),
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


# --- what a field takes, and how it is refused: to the ends of its range -------------------------


def takes(kind, mark, value):
    """Whether a field of this kind takes a value; made here, as the card's own are at import."""
    try:
        return TypeAdapter(Annotated[kind, mark]).validate_python(value) == value
    except ValidationError:
        return False


@pytest.mark.parametrize(
    ("kind", "mark"),
    [
        (float, Number(0.5, 500, "m", 20)),
        (float | tuple[float, ...], OneOrTwelve(0.5, 500, "mm a day", 5)),
        (int, Whole(1, 500, 10)),
    ],
)
def test_a_range_holds_to_its_ends_and_takes_numbers_only(kind, mark):
    assert takes(kind, mark, mark.low)
    assert takes(kind, mark, mark.high)
    step = 1 if kind is int else 0.001
    for wrong in (mark.low - step, mark.high + step, "20", True, math.nan, math.inf, None):
        assert not takes(kind, mark, wrong), wrong


@pytest.mark.parametrize("mark", [Number(0.5, 500, "m", 20), Whole(1, 500, 10)])
def test_only_a_field_that_may_stay_unknown_takes_nothing(mark):
    kind = int if isinstance(mark, Whole) else float
    assert takes(kind | None, mark, None)
    assert takes(kind | None, mark, 20)
    assert not takes(kind | None, mark, mark.high + 1)
    assert not takes(kind, mark, None)


def test_a_year_has_twelve_figures_each_within_the_range():
    kind, mark = float | tuple[float, ...], OneOrTwelve(0, 20, "mm a day", 5)
    year = (5.0,) * 12
    assert takes(kind, mark, 5.0)
    assert takes(kind, mark, year)
    for wrong in (year[1:], (*year, 5.0), (*year[1:], 20.1), (*year[1:], -0.1), (*year[1:], "5")):
        assert not takes(kind, mark, wrong), wrong


@pytest.mark.parametrize("day", [datetime.date(2026, 3, 15), None])
def test_a_planting_date_may_come_as_a_day_or_as_nothing(bare, day):
    assert read_card(bare | {"planting_date": day}).planting_date == day


@pytest.mark.parametrize("day", [datetime.datetime(2026, 3, 15), 20260315, [2026, 3, 15]])
def test_a_planting_date_is_no_hour_and_no_number(bare, day):
    """Pydantic alone would take an hour at midnight, or a number as seconds since 1970."""
    with pytest.raises(CardError, match=r"planting_date: .* a date written year-month-day"):
        read_card(bare | {"planting_date": day})


def problems(raw):
    with pytest.raises(CardError) as caught:
        read_card(raw)
    return [(one.field, one.value) for one in caught.value.problems]


def test_the_value_refused_is_shown_as_it_was_written(bare):
    """Whoever mends a card must see which figure is meant, and where it stands."""
    bare["plot"] = {"length_m": 900, "width_m": 20, "lenght_m": 30}
    bare["climate"] = {"eto_mm_day": [5] * 11 + ["wet"]}
    assert problems(bare) == [
        ("plot.length_m", 900),
        ("plot.lenght_m", 30),
        ("climate.eto_mm_day.11", "wet"),
    ]


def test_of_two_fields_that_do_not_fit_the_one_to_change_is_shown(bare):
    assert problems(bare | {"tank": {"volume_l": 500, "outlet_height_m": 1.5}}) == [
        ("tank.outlet_height_m", 1.5)
    ]
    # The same of a card that a program made, with a part already read.
    tank = Tank(volume_l=500, outlet_height_m=1.5)
    assert problems(bare | {"tank": tank}) == [("tank.outlet_height_m", 1.5)]
    narrow = {"inner_diameter_mm": 17.4, "second": {"inner_diameter_mm": 21.8, "from_tap": 2}}
    assert problems(bare | {"submain": narrow}) == [("submain.second.inner_diameter_mm", 21.8)]


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ('{"plot": 1, "plot": 2}', "plot", 2),
        ('{"stand_height_m": -Infinity}', "card", "-Infinity"),
        ("[]", "card", "[]"),
        (b"[1]", "card", "[1]"),
        # Forty letters are shown, and that there were more.
        (f'"{"x" * 38}"', "card", f'"{"x" * 38}"'),
        (f'"{"x" * 39}"', "card", f'"{"x" * 39}...'),
    ],
)
def test_text_that_is_no_card_is_shown(text, field, value):
    assert problems(text) == [(field, value)]


def test_a_field_without_a_unit_has_no_gap_before_its_example(bare):
    bare["tap_k"] = -1
    with pytest.raises(CardError) as caught:
        read_card(bare)
    assert [one.allowed for one in caught.value.problems] == ["allowed: 0 to 1000; example 1"]
