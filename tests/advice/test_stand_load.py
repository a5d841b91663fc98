"""The weight on a stand, which kills if it is wrong: reckoned again from the shape of the tank."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.advice.plan_words import stand_caution, tank_tonnes
from service.errors import CardError
from service.sizing.card import read_card
from service.sizing.tank import tank_body


def card(litres, depth=1.0):
    return read_card(
        {
            "plot": {"length_m": 20, "width_m": 20},
            "tank": {"volume_l": litres, "water_depth_m": depth},
            "stand_height_m": 2.0,
        }
    )


@given(litres=st.floats(100, 20_000), depth=st.floats(0.5, 2.0))
def test_the_load_told_is_the_water_of_the_tanks_own_shape(litres, depth):
    """Density 998 kg/m³ at 20 °C (FAO-56 takes 1000) x area x depth, slice by slice; never less.

    Told to a tenth of a ton below ten, else whole, and always the step above.
    """
    made = card(litres, depth)
    body, slices = tank_body(made.tank), 200
    volume = math.fsum(
        body.area(depth * (place + 0.5) / slices) * depth / slices for place in range(slices)
    )
    told = tank_tonnes(made).value
    assert told >= volume * 0.998
    assert told <= volume + (0.1 if volume < 10 else 1) + 1e-6


@pytest.mark.parametrize(
    ("litres", "tonnes"),
    [(100, 0.1), (120, 0.2), (500, 0.5), (1000, 1.0), (2250, 2.3), (9990, 10), (12_400, 13)],
)
def test_the_load_by_hand(litres, tonnes):
    assert tank_tonnes(card(litres)).value == tonnes


def test_a_tank_outside_the_range_has_no_load_but_a_refusal():
    for litres in (0, -500, 1e9, math.nan):
        with pytest.raises(CardError, match="volume_l"):
            card(litres)


def test_the_caution_names_the_load():
    said = stand_caution(card(1000))
    assert said.values["tonnes"] == tank_tonnes(card(1000))
    assert "builder" in said.text
