"""Phrases in plain English."""

import pytest

from service.phrases import Month, Number, Phrase, Weekday, say, say_n
from service.sizing.plain import plain_english


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (Number(1.5, 2), "1.5"),
        (Number(2.0, 1), "2"),
        (Number(20.0), "20"),
        (Number(100.0, 2), "100"),
        (Number(0.126, 2), "0.13"),
        (Month(1), "Jan"),
        (Month(3), "Mar"),
        (Month(12), "Dec"),
        (Weekday(0), "Monday"),
        (Weekday(6), "Sunday"),
        (3, "3"),
        ("Tal", "Tal"),
        (say("{n} m", n=Number(1.25, 1)), "1.2 m"),
        ((say("a"), say("b")), "a, b"),
    ],
)
def test_a_value_as_english_writes_it(value, words):
    assert plain_english(say("It is {x}.", x=value)) == f"It is {words}."


@pytest.mark.parametrize(("lines", "words"), [(1, "1 line"), (2, "2 lines"), (0, "0 lines")])
def test_a_count_chooses_between_one_and_many(lines, words):
    assert plain_english(say_n("{n} line", "{n} lines", count="n", n=lines)) == words


def test_a_sentence_without_values_stands_as_it_is():
    """Not even a brace is taken for a place to fill."""
    assert plain_english(Phrase("50 % {of it}")) == "50 % {of it}"
