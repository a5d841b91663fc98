"""Numbers and months in each language: its decimal mark, ASCII digits, ordinary spaces."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.phrases import Month, Number
from service.text.languages import LANGUAGES, language_of
from service.text.measure import measure
from service.text.numbers import write_month, write_number


@pytest.mark.parametrize(
    ("value", "digits", "english", "french"),
    [
        (12.5, 1, "12.5", "12,5"),
        (12.0, 2, "12", "12"),
        (0.25, 1, "0.3", "0,3"),
        (2.675, 2, "2.68", "2,68"),
        (1250, 0, "1250", "1250"),
        (12500.4, 0, "12500", "12500"),
        (1250000, 0, "1,250,000", "1 250 000"),
        (-0.04, 1, "0", "0"),
        (-2.5, 1, "-2.5", "-2,5"),
    ],
)
def test_numbers_are_written_short_and_by_the_language(value, digits, english, french):
    assert write_number(Number(value, digits), language_of("en")) == english
    assert write_number(Number(value, digits), language_of("fr")) == french


@pytest.mark.parametrize(
    "number", [Number(float("nan")), Number(float("inf")), Number(1e15), Number(1, -1)]
)
def test_numbers_that_mean_nothing_are_our_own_mistake(number):
    with pytest.raises(ValueError, match="cannot write"):
        write_number(number, language_of("en"))


@pytest.mark.parametrize("code", LANGUAGES)
@given(st.floats(-1e9, 1e9), st.integers(0, 3))
def test_no_number_turns_a_text_into_ucs2(code, value, digits):
    written = write_number(Number(value, digits), language_of(code))
    assert measure(written).encoding == "gsm7"
    assert set(written) <= set("0123456789,.- ")


@pytest.mark.parametrize("code", LANGUAGES)
@given(st.floats(-1e6, 1e6), st.integers(0, 3))
def test_written_numbers_are_within_half_a_unit_of_the_last_digit(code, value, digits):
    written = write_number(Number(value, digits), language_of(code))
    read = float(written.replace(",", ".")) if abs(value) < 999_999 else value
    assert abs(read - value) <= 0.5 * 10**-digits + 1e-9


def test_months_stay_inside_the_alphabet_where_the_language_promises_it():
    for language in LANGUAGES.values():
        names = [write_month(Month(number), language) for number in range(1, 13)]
        assert len(set(names)) == 12
        assert all(not name.endswith(".") for name in names)
        if language.gsm7:
            assert {measure(name).encoding for name in names} == {"gsm7"}
    assert write_month(Month(8), language_of("fr")) == "aout"
    assert write_month(Month(3), language_of("sw")) == "Mac"


@pytest.mark.parametrize("number", [0, 13])
def test_only_twelve_months(number):
    with pytest.raises(ValueError, match="1 to 12"):
        write_month(Month(number), language_of("en"))


def test_an_unknown_language_is_refused_with_the_known_ones():
    with pytest.raises(ValueError, match="'xx' is not one of en, sw, fr, hi"):
        language_of("xx")


def test_plural_rules_are_those_of_cldr(i18n):
    """CLDR 48 rules for whole numbers, as computed with two libraries for the vectors."""
    for code, language in LANGUAGES.items():
        assert language.plural_forms == i18n["plurals"][code]["plural_forms"]
