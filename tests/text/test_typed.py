"""Typed text made comparable."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.text.typed import NO_SIZE, cleaned, words_only


def test_digits_of_every_script_in_the_vectors_become_ascii(i18n):
    assert len(i18n["digits"]) >= 19
    for row in i18n["digits"]:
        assert cleaned(row["text"]) == row["value"], row["system"]


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("፼፩", "10001"),
        ("፲፼", "100000"),
        ("፻፼", "1000000"),
        ("፱፻፺፱፼፱፻፺፱", "9990999"),
        ("፲፱፻", "1900"),
    ],
)
def test_ethiopic_numbers_beyond_the_vectors(typed, value):
    """Ones, tens, then 100 and 10,000 as multipliers: from memory, not verified."""
    assert cleaned(typed) == value


@pytest.mark.parametrize("typed", ["፩፲", "፩፪", "፻፻", "2፩", "፩2", "፼፼"])
def test_ethiopic_numbers_out_of_order_are_no_number(typed):
    assert NO_SIZE in cleaned(typed)


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("  Mètre\t CARRÉ\n", "metre carre"),
        ("फ़ीट", "फीट"),
        ("हाँ", "हां"),
        ("ＳＴＯＰ", "stop"),
        ("st\x00op\u200b", "stop"),
        ("½", "0.5"),
        ("2 ¾", "2.75"),
        ("²", NO_SIZE),
        ("m³", "m3"),
        ("①", NO_SIZE),
        ("٣٫٥", "3.5"),
        ("−3", "-3"),
    ],
)
def test_small_letters_plain_marks_no_control_characters(typed, read):
    assert cleaned(typed) == read


def test_words_only_drops_punctuation_and_keeps_vowel_signs():
    assert words_only('"Opt-out!!" मुख्य, मेनू') == "opt out मुख्य मेनू"


@given(st.text())
def test_cleaning_never_fails_and_leaves_single_spaces(text):
    read = cleaned(text)
    assert "  " not in read
    assert not any(ord(letter) < 32 for letter in read)
    assert not any(letter.isdecimal() and not letter.isascii() for letter in read)
