"""One number by the rule that holds in every language."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.text.literals import read_literal


@given(st.integers(0, 10**9), st.sampled_from(".,"), st.integers(0, 99), st.integers(1, 2))
def test_one_or_two_digits_behind_one_separator_are_decimals(whole, mark, fraction, digits):
    typed = f"{whole}{mark}{fraction % 10**digits:0{digits}d}"
    assert read_literal(typed) == Decimal(typed.replace(",", "."))


@given(st.integers(1, 10**9), st.sampled_from(".,"), st.integers(0, 999))
def test_three_digits_behind_one_separator_are_ambiguous(whole, mark, fraction):
    assert read_literal(f"{whole}{mark}{fraction:03d}") == "ambiguous-number"


@given(st.integers(1000, 10**9), st.integers(0, 9), st.sampled_from([(",", "."), (".", ",")]))
def test_of_two_separators_the_last_is_the_decimal(whole, fraction, marks):
    group, decimal = marks
    typed = f"{whole:,}".replace(",", group) + f"{decimal}{fraction}"
    # Two or more groups have repeated separators, which only the decimal mark makes clear.
    assert read_literal(typed) == Decimal(f"{whole}.{fraction}")


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        (".5", Decimal("0.5")),
        ("0.125", Decimal("0.125")),
        ("7,", Decimal(7)),
        ("+12", Decimal(12)),
        ("1.2345", Decimal("1.2345")),
        ("1,234,567", "ambiguous-number"),
        ("1.234.5", "ambiguous-number"),
        ("12,34.5", "ambiguous-number"),
        ("1,2..5", "ambiguous-number"),
        ("-1", "too-small"),
        ("1" * 16, "too-large"),
    ],
)
def test_other_shapes(typed, read):
    assert read_literal(typed) == read
