"""Coils to buy, against counting every possible purchase."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.sizing.coils import CUT_ALLOWANCE_M, coils_for_lines, coils_for_run

LENGTHS = (100.0, 200.0, 400.0)
lines = st.integers(1, 60)
metres = st.floats(0.5, 99.0)


def test_twenty_lines_of_twenty_metres():
    """
    A line is cut 20.5 m long; coils of 100, 200, 400 m hold 4, 9, 19 of them. For 20 lines
    400 m are one line short, and the next 100 m mend it: 500 m. Five coils of 100 m hold
    exactly 20 as well, but two coils are fewer to carry.
    """
    coils = coils_for_lines(20, 20.0, LENGTHS)
    assert coils.counts == ((400.0, 1), (100.0, 1))
    assert coils.needed_m == pytest.approx(410.0)
    assert coils.left_m == pytest.approx(90.0)
    assert [coils.pieces_each(length) for length in LENGTHS] == [4, 9, 19]
    assert coils.joints == 0


def test_a_line_that_just_fills_its_coil_is_not_lost_to_rounding():
    assert coils_for_lines(4, 24.5, LENGTHS).counts == ((100.0, 1),)


def test_a_line_longer_than_any_coil_is_joined():
    coils = coils_for_lines(3, 450.0, LENGTHS)
    assert coils.needed_m == pytest.approx(3 * 450.5)
    assert coils.bought_m == 1400.0
    assert coils.joints == coils.coil_count - 1


def fewest_metres_by_trying(count, length):
    piece = length + CUT_ALLOWANCE_M
    each = [math.floor(coil / piece + 1e-9) for coil in LENGTHS]
    most = [range(math.ceil(count / held) + 1) if held else range(1) for held in each]
    bought = (
        sum(n * coil for n, coil in zip(counts, LENGTHS, strict=True))
        for counts in itertools.product(*most)
        if sum(n * held for n, held in zip(counts, each, strict=True)) >= count
    )
    return min(bought)


@given(st.integers(1, 25), metres)
def test_no_purchase_that_holds_the_lines_has_fewer_metres(count, length):
    bought = coils_for_lines(count, length, LENGTHS).bought_m
    assert bought == fewest_metres_by_trying(count, length)


@given(lines, st.floats(0.5, 399.0))
def test_the_coils_hold_every_line_in_one_piece(count, length):
    coils = coils_for_lines(count, length, LENGTHS)
    held = sum(n * coils.pieces_each(coil) for coil, n in coils.counts)
    assert held >= count
    assert coils.bought_m >= coils.needed_m


@given(lines, metres)
def test_one_more_line_never_needs_fewer_metres(count, length):
    fewer = coils_for_lines(count, length, LENGTHS).bought_m
    assert coils_for_lines(count + 1, length, LENGTHS).bought_m >= fewer


@pytest.mark.parametrize(
    ("metres", "counts", "joints"),
    [
        (0.0, (), 0),
        (25.0, ((25.0, 1),), 0),
        (25.1, ((50.0, 1),), 0),
        (60.0, ((50.0, 1), (25.0, 1)), 1),
        (101.0, ((100.0, 1), (25.0, 1)), 1),
        (310.0, ((100.0, 3), (25.0, 1)), 3),
    ],
)
def test_pipe_that_may_be_joined(metres, counts, joints):
    coils = coils_for_run(metres, (25.0, 50.0, 100.0))
    assert (coils.counts, coils.joints) == (counts, joints)
    assert coils.pieces_each(100.0) == 0
