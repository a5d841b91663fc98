"""From the answers of a conversation to a plot card."""

from datetime import date

import pytest

from service.advice.answers import card_from_answers
from service.errors import CardError
from service.sizing.card import assumed_values

TODAY = date(2026, 11, 25)
FIVE = {
    "plot_length_m": 20,
    "plot_width_m": 15,
    "crop": "tomato",
    "weeks_since_planting": 3,
    "tank_volume_l": 500,
    "stand_height_m": 1.5,
}


def test_five_answers_make_a_card(tables):
    card = card_from_answers(FIVE, tables.pipes, TODAY)
    assert (card.plot.length_m, card.plot.width_m) == (20, 15)
    assert card.planting_date == date(2026, 11, 4)
    assert card.submain.inner_diameter_mm is None


def test_a_fall_seen_over_the_plot_becomes_a_slope(tables):
    """A knee (0.5 m) lower over 20 m is 2.5 % downhill."""
    seen = {**FIVE, "rise_along_length_m": -0.5, "rise_along_width_m": 0}
    card = card_from_answers(seen, tables.pipes, TODAY)
    assert card.plot.slope_length_pct == pytest.approx(-2.5)
    assert card.plot.slope_width_pct == 0
    assert "plot.slope_width_pct" not in {item.field for item in assumed_values(card)}


def test_a_printed_size_becomes_its_bore(tables):
    """25 mm pipe has a bore of 21.8 mm in the pipe table (from memory, trade typical)."""
    card = card_from_answers({**FIVE, "main_pipe": "25"}, tables.pipes, TODAY)
    assert card.submain.inner_diameter_mm == 21.8


@pytest.mark.parametrize("said", ["not_bought", "unreadable"])
def test_no_size_leaves_the_bore_to_be_chosen(tables, said):
    card = card_from_answers({**FIVE, "main_pipe": said}, tables.pipes, TODAY)
    assert card.submain.inner_diameter_mm is None


def test_fills_a_day_become_litres(tables):
    card = card_from_answers(
        {**FIVE, "supply_fill": "bucket", "fills_a_day": 1.5}, tables.pipes, TODAY
    )
    assert card.supply.litres_per_day == 750


def test_a_missing_answer_is_named(tables):
    with pytest.raises(CardError, match=r"tank: it is missing; allowed: an object"):
        card_from_answers({**FIVE, "tank_volume_l": None}, tables.pipes, TODAY)
