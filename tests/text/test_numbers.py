"""Numbers, months and days of the week in each language: decimal mark, digits, plain spaces."""

import gettext

import pytest
from babel import Locale
from hypothesis import given
from hypothesis import strategies as st

from service.phrases import Month, Number, Weekday
from service.text.languages import LANGUAGES, language_of
from service.text.measure import measure
from service.text.numbers import write_month, write_number, write_weekday


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


CLDR_ORDER = ("zero", "one", "two", "few", "many", "other")


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
    with pytest.raises(ValueError, match="'xx' is not one of en, sw, fr, "):
        language_of("xx")


def test_plural_rules_are_those_of_cldr(i18n):
    """CLDR 48 rules for whole numbers, as computed with two libraries for the vectors."""
    found = [code for code in LANGUAGES if code in i18n["plurals"]]
    assert len(found) >= 7
    for code in found:
        assert LANGUAGES[code].plural_forms == i18n["plurals"][code]["plural_forms"]


@pytest.mark.parametrize("code", LANGUAGES)
def test_plural_rules_choose_the_form_that_cldr_chooses(code):
    """CLDR as Babel carries it, an independent reading of the same rules; whole numbers to 299."""
    language = LANGUAGES[code]
    rule = Locale.parse(language.locale).plural_form
    kinds = [kind for kind in CLDR_ORDER if kind in {rule(number) for number in range(300)}]
    chosen = plural_of(language.plural_forms)
    assert [chosen(n) for n in range(300)] == [kinds.index(rule(n)) for n in range(300)]


def plural_of(header):
    """The form that gettext chooses by a header."""
    return gettext.c2py(header.split("plural=")[1].rstrip(";"))


@pytest.mark.parametrize(
    ("code", "written"),
    [
        ("en", "12.5"),
        ("sw", "12.5"),
        ("fr", "12,5"),
        ("pt", "12,5"),
        ("es", "12,5"),
        ("hi", "12.5"),
        ("bn", "12.5"),
        ("am", "12.5"),
        ("ar", "12.5"),
        ("id", "12,5"),
    ],
)
def test_each_language_has_its_decimal_mark_and_plain_digits(code, written):
    """Decimal marks: CLDR as Babel carries it; digits are plain in all, as decided here."""
    assert write_number(Number(12.5, 1), language_of(code)) == written


@pytest.mark.parametrize("code", LANGUAGES)
def test_months_are_short_different_and_within_the_alphabet_of_the_language(code):
    language = language_of(code)
    names = [write_month(Month(number), language) for number in range(1, 13)]
    assert len(set(names)) == 12
    assert all(name and not name.endswith(".") and "\u200f" not in name for name in names)
    if language.gsm7:
        assert {measure(name).encoding for name in names} == {"gsm7"}


@pytest.mark.parametrize("code", LANGUAGES)
def test_seven_days_of_the_week_each_its_own_name_within_the_alphabet(code):
    language = language_of(code)
    names = [write_weekday(Weekday(number), language) for number in range(7)]
    assert len(set(names)) == 7
    if language.gsm7:
        assert {measure(name).encoding for name in names} == {"gsm7"}


def test_days_are_written_as_within_a_sentence():
    assert write_weekday(Weekday(0), language_of("fr")) == "lundi"
    assert write_weekday(Weekday(1), language_of("pt")) == "terca-feira"
    assert write_weekday(Weekday(5), language_of("es")) == "sabado"
    assert write_weekday(Weekday(6), language_of("en")) == "Sunday"


@pytest.mark.parametrize("number", [-1, 7])
def test_a_day_outside_of_the_week_is_our_own_mistake(number):
    with pytest.raises(ValueError, match="not one of 0 to 6"):
        write_weekday(Weekday(number), language_of("en"))
