"""Sizes as farmers send them: accepted and refused in one table each."""

from decimal import Decimal
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.dialogue import answers
from service.phrases import Number
from service.text.amounts import Unreadable, read_quantities
from service.text.languages import LANGUAGES
from service.text.lexicon import LEXICONS, Unit, words_of
from service.text.literals import Reason
from service.text.numbers import write_number
from service.text.typed import cleaned
from service.text.vocabulary import WordVocabulary


def sizes(text, language="en"):
    found = read_quantities(text, language)
    if isinstance(found, Unreadable):
        return found.reason
    return [(str(size.value), size.unit) for size in found]


def test_the_rule_table_for_number_entry(i18n):
    vocabulary = WordVocabulary("en")
    assert len(i18n["number_entry"]) == 20
    for row in i18n["number_entry"]:
        read = vocabulary.number(row["text"])
        if row["accept"]:
            assert read == Decimal(row["value"]), row
        else:
            assert isinstance(read, Unreadable), row


@pytest.mark.parametrize(
    ("code", "text", "read"),
    [
        ("pt", "20,5 metros", [("20.5", "m")]),
        ("pt", "20 por 30 pés", [("20", "ft"), ("30", "ft")]),
        ("es", "2 tambores", [("2", "drum")]),
        ("es", "unos 20 pasos", [("20", "pace")]),
        ("id", "20 kali 30 meter", [("20", "m"), ("30", "m")]),
        ("id", "1,5 m", [("1.5", "m")]),
        ("bn", "২০ মিটার", [("20", "m")]),
        ("bn", "৫০০ লিটার", [("500", "l")]),
        ("am", "፳ ሜትር", [("20", "m")]),
        ("am", "፭፻ ሊትር", [("500", "l")]),
        ("am", "20 ጫማ", [("20", "ft")]),
        ("ar", "٢٠ متر", [("20", "m")]),
        ("ar", "١٫٥ متر", [("1.5", "m")]),
        ("ar", "2 برميل", [("2", "drum")]),
        ("ar", "20 في 30 متر", [("20", "m"), ("30", "m")]),
        ("hi", "२० बाय ३० मीटर", [("20", "m"), ("30", "m")]),
    ],
)
def test_sizes_in_the_words_and_digits_of_each_language(code, text, read):
    found = WordVocabulary(code).quantities(text)
    assert found == tuple((Decimal(value), unit) for value, unit in read)


def test_local_digits_are_numbers(i18n):
    for row in i18n["digits"]:
        for code in LANGUAGES:
            assert WordVocabulary(code).number(row["text"]) == Decimal(row["value"]), row


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("25", [("25", None)]),
        ("abt 25m", [("25", "m")]),
        ("about 25 metres.", [("25", "m")]),
        ("25 meetrs", [("25", "m")]),
        ("7.", [("7", None)]),
        ("0,125", [("0.125", None)]),
        ("+5", [("5", None)]),
        ("1 250 L", [("1250", "l")]),
        ("12,34,567.5", [("1234567.5", None)]),
        ("500L", [("500", "l")]),
        ("2 ½ drums", [("2.5", "drum")]),
        ("5 jerry-cans", [("5", "bucket")]),
        ("5 m³", [("5", "m3")]),
        ("5m^3", [("5", "m3")]),
        ("5%", [("5", "pct")]),
        ("3 weeks ago", [("3", "week")]),
        ("2 times a day", [("2", None)]),
        ("1.6 L/h", [("1.6", "lph")]),
        ("1.6 litres an hour", [("1.6", "lph")]),
        ("30cm", [("30", "cm")]),
        ("13 paces", [("13", "pace")]),
        ("20 by 30", [("20", None), ("30", None)]),
        ("20x30", [("20", None), ("30", None)]),
        ("20mx30m", [("20", "m"), ("30", "m")]),
        ("20 × 30 ft", [("20", "ft"), ("30", "ft")]),
        ("20 ft by 30", [("20", "ft"), ("30", "ft")]),
        ("20 m, 500 L", [("20", "m"), ("500", "l")]),
        ("12 5", [("12", None), ("5", None)]),
        ("20 15 500", [("20", None), ("15", None), ("500", None)]),
        ("2 drums of 200 litres", [("2", "drum"), ("200", "l")]),
        ("my plot is 20 metres long and 10 wide", [("20", "m"), ("10", "m")]),
        ("mita 20 kwa 30", [("20", "m"), ("30", "m")]),
        ("mita 20, lita 500", [("20", "m"), ("500", "l")]),
        ("urefu wa mita 20 hivi", [("20", "m")]),
        ("lita 1.6 kwa saa", [("1.6", "lph")]),
        ("mara 2 kwa siku", [("2", None)]),
        ("ndoo 3", [("3", "bucket")]),
        ("20 mètres sur 30", [("20", "m"), ("30", "m")]),
        ("1,6 litres par heure", [("1.6", "lph")]),
        ("3 fûts", [("3", "drum")]),
        ("२५ मीटर", [("25", "m")]),
        ("२० गुणा ३० फ़ीट", [("20", "ft"), ("30", "ft")]),
        ("५ बाल्टियाँ", [("5", "bucket")]),
        ("2\x007\u200b m", [("27", "m")]),
    ],
)
def test_sizes_that_are_understood(text, read):
    assert sizes(text) == read


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "no-number"),
        ("long", "no-number"),
        ("nan", "no-number"),
        ("Infinity", "no-number"),
        ("²", "no-number"),
        ("1,250", "ambiguous-number"),
        ("1.234", "ambiguous-number"),
        ("20,15,500", "ambiguous-number"),
        ("1.2.3", "ambiguous-number"),
        ("1,23,4.5", "ambiguous-number"),
        ("20/30", "ambiguous-number"),
        ("1'250", "ambiguous-number"),
        ("1_000", "ambiguous-number"),
        ("1e5", "ambiguous-number"),
        ("O7", "ambiguous-number"),
        ("07I2", "ambiguous-number"),
        ("2-3", "many-numbers"),
        ("2 or 3 drums", "many-numbers"),
        ("2 m to 3 m", "many-numbers"),
        ("1 " * 30, "many-numbers"),
        ("25 acres", "wrong-unit"),
        ("5²", "wrong-unit"),
        ("25 in", "wrong-unit"),
        ("-3", "too-small"),
        ("-0,5 m", "too-small"),
        ("9" * 16, "too-large"),
    ],
)
def test_answers_that_are_asked_again(text, reason):
    assert sizes(text) == reason


def test_every_reason_is_one_that_the_dialogue_explains():
    assert set(get_args(Reason)) <= set(get_args(answers.Reason))


@pytest.mark.parametrize("code", LEXICONS)
def test_every_unit_word_is_read_before_or_after_its_number(code):
    for unit, line in LEXICONS[code].units.items():
        for word in words_of(line):
            assert sizes(f"25 {word}", code) == [("25", unit)], word
            assert sizes(f"{word} 25", code) == [("25", unit)], word


def test_every_language_has_words_for_every_unit():
    for lexicon in LEXICONS.values():
        assert set(lexicon.units) == set(get_args(Unit))


def test_no_word_is_two_units_in_two_languages():
    """With one meaning each, words of all languages can be understood at once."""
    found = {}
    for lexicon in LEXICONS.values():
        for unit, line in lexicon.units.items():
            for word in words_of(line):
                assert found.setdefault(cleaned(word), unit) == unit


@given(st.decimals(0, 99_999, places=2), st.sampled_from(sorted(LANGUAGES)))
def test_what_the_service_writes_it_can_read(value, language):
    written = write_number(Number(float(value), 2), LANGUAGES[language])
    assert WordVocabulary(language).number(written) == value.normalize()


@given(st.text(st.one_of(st.sampled_from("0123456789 .,-x½mL²፻१/by"), st.characters())))
def test_no_text_makes_the_reader_fail(text):
    found = read_quantities(text, "sw")
    if isinstance(found, Unreadable):
        assert found.reason in get_args(Reason)
    else:
        assert 0 < len(found) <= 20
        assert all(size.value >= 0 and size.value.is_finite() for size in found)


@pytest.mark.timeout(30)  # A text that took time squared would need minutes.
@pytest.mark.parametrize(
    "piece",
    [
        "1 ",
        "x",
        "1x",
        "1,",
        "m",
        "²",
        "फ",
        "፩",
        " ",
        "1/",
        "\x00",
        "\ufdfa",
        "-",
        "meetrs ",
        "1 250 ",
    ],
)
def test_long_answers_are_read_in_a_moment(piece):
    text = (piece * 10_000)[:10_000]
    read_quantities(text, "hi")
