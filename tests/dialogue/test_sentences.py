"""Every reason, type and unit has its sentence, and each can be filled."""

from __future__ import annotations

import string
from decimal import Decimal
from typing import get_args

import pytest

from service.dialogue import Ask, Option, Reason, State
from service.dialogue.answers import UNITS
from service.dialogue.model import AskType
from service.dialogue.sentences import ASK_AGAIN, WHAT_TO_SEND, kept, what_to_send
from service.phrases import Number, Phrase, say, say_n


def test_every_reason_to_ask_again_has_its_sentence() -> None:
    assert set(ASK_AGAIN) == set(get_args(Reason))


def test_every_type_and_unit_says_what_to_send() -> None:
    pairs = {(kind, unit) for kind in get_args(AskType) for unit in (UNITS[kind] or [None])}
    assert set(WHAT_TO_SEND) == pairs


@pytest.mark.parametrize(("kind", "unit"), WHAT_TO_SEND)
def test_the_sentence_is_filled_completely(kind: AskType, unit: str | None) -> None:
    phrase = what_to_send(Ask(kind, Decimal("0.5"), Decimal(9), "5", unit))  # type: ignore[arg-type]
    names = {name for _, name, _, _ in string.Formatter().parse(phrase.text) if name}
    assert names == set(phrase.values) == {"low", "high", "example"}
    assert phrase.values["low"] == Number(0.5, 3)


def question(kind: AskType, unit: str | None) -> State:
    return State("q", "ask", ask=Ask(kind, Decimal(0), Decimal(9), "5", unit))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("state", "value", "said"),
    [
        (question("length", "m"), 30.48, say("{value} m", value=Number(30.48, 2))),
        (question("length", "mm"), 0.025, say("{value} mm", value=Number(25.0, 2))),
        (question("height", "pace"), 3, say("{value} m", value=Number(3.0, 2))),
        (question("volume", "bucket"), 60, say("{value} L", value=Number(60.0, 2))),
        (question("percent", "pct"), -2, say("{value}%", value=Number(-2.0, 2))),
        (question("flow", "lph"), 1.6, say("{value} L/h", value=Number(1.6, 2))),
        (question("number", None), 4, say("{value}", value=Number(4.0, 2))),
        (question("text", None), "rye {x}", say("{value}", value="rye {x}")),
        (question("length", "m"), None, say("{value}", value="None")),
        (
            question("weeks", "week"),
            6,
            say_n("{value} week", "{value} weeks", count="value", value=6),
        ),
    ],
)
def test_a_kept_answer_is_said_in_the_unit_asked(state: State, value: object, said: Phrase) -> None:
    assert kept(state, value, ()) == said


def test_a_kept_choice_is_said_by_its_label() -> None:
    menu = State("q", "options", options="loaves")
    assert kept(menu, "rye", [Option("rye", say("Rye"))]) == say("Rye")
    assert kept(menu, "gone", [Option("rye", say("Rye"))]) == say("{value}", value="gone")
