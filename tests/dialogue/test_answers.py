"""What a typed answer or a menu takes and refuses, one table each."""

from __future__ import annotations

from decimal import Decimal
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.dialogue import (
    Ask,
    NotUnderstood,
    Option,
    PlainUnreadable,
    PlainVocabulary,
    Reason,
    Understood,
)
from service.dialogue.answers import UNITS, menu_key, read_menu, read_typed
from service.dialogue.model import AskType
from service.phrases import say


def ask(kind: AskType, low: str, high: str, unit: str | None = None, *, whole: bool = False) -> Ask:
    usual = next(iter(UNITS[kind]), None)
    return Ask(kind, Decimal(low), Decimal(high), low, unit or usual, whole)  # type: ignore[arg-type]


LENGTH = ask("length", "2", "300")
BORE = ask("length", "10", "110", "mm")
PACES = ask("height", "1", "40", "pace")
VOLUME = ask("volume", "20", "20000")
BUCKETS = ask("volume", "1", "50", "bucket")
WEEKS = ask("weeks", "0", "60", whole=True)
PERCENT = ask("percent", "-10", "10")
FLOW = ask("flow", "0.2", "8")
NUMBER = ask("number", "0", "20")
COUNT = ask("number", "0", "20", whole=True)
TEXT = Ask("text", Decimal(2), Decimal(10), "words")

# Conversions: the foot is 0.3048 m by definition; a pace of 0.75 m, a bucket of 20 L and a drum
# of 200 L are common practice without a source, as `service.units` says.
TAKEN = [
    (LENGTH, "25", 25),
    (LENGTH, " 25 ", 25),
    (LENGTH, "25.5", 25.5),
    (LENGTH, "25,5", 25.5),
    (LENGTH, "25 m", 25),
    (LENGTH, "25m", 25),
    (LENGTH, "2500 cm", 25),
    (LENGTH, "25000mm", 25),
    (LENGTH, "100 ft", 30.48),
    (LENGTH, "40 paces", 30),
    (LENGTH, "about 25m long", 25),
    (LENGTH, "२५", 25),
    (LENGTH, "٢٥", 25),
    (LENGTH, "2", 2),
    (LENGTH, "300", 300),
    (BORE, "25", 0.025),
    (BORE, "2.5 cm", 0.025),
    (PACES, "4", 3),
    (PACES, "3 m", 3),
    (VOLUME, "500", 500),
    (VOLUME, "500 l", 500),
    (VOLUME, "0.5 m3", 500),
    (VOLUME, "25 buckets", 500),
    (VOLUME, "2 drums", 400),
    (BUCKETS, "3", 60),
    (BUCKETS, "100 l", 100),
    (WEEKS, "0", 0),
    (WEEKS, "6 weeks", 6),
    (PERCENT, "-2", -2),
    (PERCENT, "5%", 5),
    (FLOW, "1.6 lph", 1.6),
    (NUMBER, "0", 0),
    (NUMBER, "2.5", 2.5),
    (COUNT, "3", 3),
    (TEXT, " bread ", "bread"),
    (TEXT, "रोटी 2", "रोटी 2"),
]

REFUSED: list[tuple[Ask, str, Reason]] = [
    (LENGTH, "", "nothing"),
    (LENGTH, "   ", "nothing"),
    (LENGTH, "long", "no-number"),
    (LENGTH, "20 by 30", "many-numbers"),
    (LENGTH, "25 l", "wrong-unit"),
    (LENGTH, "2 buckets", "wrong-unit"),
    (LENGTH, "1.9", "too-small"),
    (LENGTH, "6 ft", "too-small"),
    (LENGTH, "-25", "too-small"),
    (LENGTH, "0", "too-small"),
    (LENGTH, "301", "too-large"),
    (LENGTH, "9" * 400, "too-large"),
    (BORE, "25 m", "too-large"),
    (VOLUME, "5 m", "wrong-unit"),
    (VOLUME, "21 m3", "too-large"),
    (WEEKS, "2.5", "not-whole"),
    (WEEKS, "61", "too-large"),
    (WEEKS, "3 m", "wrong-unit"),
    (PERCENT, "11", "too-large"),
    (NUMBER, "3 m", "wrong-unit"),
    (COUNT, "2.5", "not-whole"),
    (TEXT, "12", "no-words"),
    (TEXT, "*", "no-words"),
    (TEXT, "a", "too-small"),
    (TEXT, "a very long answer", "too-long"),
]


@pytest.mark.parametrize(("question", "text", "value"), TAKEN)
def test_an_answer_that_is_taken(question: Ask, text: str, value: object) -> None:
    read = read_typed(question, text, PlainVocabulary())
    assert isinstance(read, Understood)
    assert read.value == value
    assert type(read.value) is type(value)


@pytest.mark.parametrize(("question", "text", "reason"), REFUSED)
def test_an_answer_that_is_refused(question: Ask, text: str, reason: Reason) -> None:
    assert read_typed(question, text, PlainVocabulary()) == NotUnderstood(reason)


def test_spaces_in_a_text_are_tidied_before_it_is_counted() -> None:
    question = Ask("text", Decimal(1), Decimal(10), "words")
    read = read_typed(question, "good \n bread", PlainVocabulary())
    assert read == Understood("good bread")


def test_another_unit_than_asked_is_told_apart() -> None:
    vocabulary = PlainVocabulary()
    assert read_typed(LENGTH, "40 paces", vocabulary) == Understood(30, converted=True)
    assert read_typed(LENGTH, "30 m", vocabulary) == Understood(30, converted=False)
    assert read_typed(BUCKETS, "3 buckets", vocabulary) == Understood(60, converted=False)


class _Refusing(PlainVocabulary):
    """A vocabulary that refuses with a word of its own."""

    def __init__(self, reason: str) -> None:
        self.refusal = reason

    def quantities(self, text: str, /) -> PlainUnreadable:
        return PlainUnreadable(self.refusal)


@pytest.mark.parametrize(
    ("word", "reason"),
    [*((word, word) for word in get_args(Reason)), ("a-word-of-its-own", "no-number")],
)
def test_the_reason_of_the_vocabulary_is_passed_on(word: str, reason: Reason) -> None:
    assert read_typed(LENGTH, "1,500", _Refusing(word)) == NotUnderstood(reason)


MENU = [
    Option("rye", say("Rye"), ("black bread",)),
    Option("flat", say("Flat bread")),
    Option(None, say("None of these")),
]
KEYS = ["1", "2", "0"]


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("1", 0),
        ("1.", 0),
        (" 1 ", 0),
        ("1)", 0),
        ("01", 0),
        ("२", 1),
        ("2.", 1),
        ("0", 2),
        ("rye", 0),
        ("Black Bread", 0),
        ("FLAT BREAD", 1),
    ],
)
def test_a_line_of_a_menu_is_chosen(text: str, place: int) -> None:
    read = read_menu(text, KEYS, MENU, PlainVocabulary())
    assert read == Understood(MENU[place].value, place)


@pytest.mark.parametrize(
    ("text", "reason"),
    [("", "nothing"), ("3", "no-choice"), ("-1", "no-choice"), ("1.5", "no-choice"),
     ("1 2", "no-choice"), ("cake", "no-choice"), ("1" * 5000, "no-choice"), ("²", "no-choice")],
)  # fmt: skip
def test_no_line_of_a_menu_is_chosen(text: str, reason: Reason) -> None:
    assert read_menu(text, KEYS, MENU, PlainVocabulary()) == NotUnderstood(reason)


def test_yes_and_no_are_understood_where_they_are_the_values() -> None:
    menu = [Option("yes", say("Somebody does")), Option("no", say("Nobody does"))]
    assert read_menu("No", ["1", "2"], menu, PlainVocabulary()) == Understood("no", 1)
    assert read_menu("No", KEYS, MENU, PlainVocabulary()) == NotUnderstood("no-choice")


@given(st.integers(0, 99))
def test_every_menu_number_is_its_own_key(number: int) -> None:
    assert menu_key(f" {number}. ") == str(number)


@given(st.text(), st.sampled_from([LENGTH, BORE, VOLUME, WEEKS, PERCENT, NUMBER, TEXT]))
def test_no_text_raises(text: str, question: Ask) -> None:
    read = read_typed(question, text, PlainVocabulary())
    assert isinstance(read, Understood | NotUnderstood)


@given(st.decimals(2, 300, places=3), st.sampled_from(["m", "cm", "mm", "ft", "pace"]))
def test_a_kept_length_is_within_the_limits_whatever_the_unit(number: Decimal, unit: str) -> None:
    read = read_typed(LENGTH, f"{number} {unit}", PlainVocabulary())
    if isinstance(read, Understood):
        assert isinstance(read.value, int | float)
        assert 2 <= read.value <= 300
