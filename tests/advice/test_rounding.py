"""Numbers as a careful neighbour would say them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.advice import rounding


@pytest.mark.parametrize(
    ("value", "said"), [(0, 0), (0.234, 0.23), (4.26, 4.3), (47.6, 48), (1932, 1900), (99.7, 100)]
)
def test_two_figures(value, said):
    assert rounding.two_figures(value) == pytest.approx(said)


@given(st.floats(1e-3, 1e7))
def test_two_figures_are_never_five_per_cent_off(value):
    assert rounding.two_figures(value) == pytest.approx(value, rel=0.0501)


def test_buckets_are_whole_and_enough():
    assert rounding.buckets(100, 20).value == 5
    assert rounding.buckets(100.5, 20).value == 6


def test_a_near_miss_is_never_said_as_a_pass():
    assert rounding.per_cent(84.99).value == 84


@pytest.mark.parametrize(("value", "said"), [(0, 0), (0.2, 1), (7.6, 8), (34, 35), (122, 120)])
def test_minutes(value, said):
    assert rounding.minutes(value).value == said
