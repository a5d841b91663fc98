"""Feeding in words: measures of a kitchen, always cut down."""

import pytest

from service.advice.feed_words import FERTILISER_NAMES, grams, measure
from service.sizing.plain import plain_english


@pytest.mark.parametrize(
    ("value", "said"), [(0.4, 1), (7.9, 7), (24, 20), (99, 95), (209, 200), (1234, 1230)]
)
def test_grams_are_cut_down(value, said):
    assert grams(value).value == said


@pytest.mark.parametrize(
    ("spoons", "said"),
    [
        (0.2, "0.5 x a level spoon"),
        (1.9, "1.5 x a level spoon"),
        (26, "26 x a level spoon"),
        (30, "2 x a tea cup"),
        (60, "4.5 x a tea cup"),
    ],
)
def test_measures_of_a_kitchen(spoons, said):
    """A tea cup of 200 mL holds 13.3 level tablespoons of 15 mL."""
    assert plain_english(measure(spoons)) == said


def test_every_fertiliser_of_the_table_has_a_name(tables):
    assert set(FERTILISER_NAMES) == set(tables.fertilisers)
