"""Several answers in one text: what is filled, what is asked."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest

from service.dialogue import (
    Conversation,
    Dialogue,
    FlowBook,
    Option,
    PlainQuantity,
    PlainUnreadable,
    PlainVocabulary,
    Registry,
    load_flows,
)
from service.dialogue.several import split_parts
from service.phrases import say

Hold = Callable[..., Conversation]

# The texts begin at the first question of the bakery: length, width, loaf, dough, helper.
FILLED: list[tuple[str, str, dict[str, object]]] = [
    ("20 15 rye 500", "helper", {"length": 20, "width": 15, "loaf": "rye", "dough": 500}),
    ("20 15 Rye 500 yes", "plan",
     {"length": 20, "width": 15, "loaf": "rye", "dough": 500, "helper": "yes"}),
    ("20, 15, black bread, 25 buckets", "helper",
     {"length": 20, "width": 15, "loaf": "rye", "dough": 500}),
    ("20 m 15 m", "loaf", {"length": 20, "width": 15}),
    ("20m;15m", "loaf", {"length": 20, "width": 15}),
    ("20\n15", "loaf", {"length": 20, "width": 15}),
    ("20 by 30", "loaf", {"length": 20, "width": 30}),
    ("20 x 30", "loaf", {"length": 20, "width": 30}),
    ("20x30", "loaf", {"length": 20, "width": 30}),
    ("20 × 30 flat bread", "dough", {"length": 20, "width": 30, "loaf": "flat"}),
    ("20*30", "loaf", {"length": 20, "width": 30}),
    ("100 ft 20 paces", "loaf", {"length": 30.48, "width": 15}),
    ("२० १५", "loaf", {"length": 20, "width": 15}),
    ("20.5 15,5", "loaf", {"length": 20.5, "width": 15.5}),
]  # fmt: skip


@pytest.mark.parametrize(("text", "state", "answers"), FILLED)
def test_each_part_goes_to_the_next_question(
    dialogue: Dialogue, hold: Hold, text: str, state: str, answers: dict[str, object]
) -> None:
    conversation = hold("bakery", "length", text)
    assert (conversation.state, conversation.answers) == (state, answers)
    assert conversation.notice == (f"noted:{len(answers)}",)
    noted = dialogue.show(conversation).lines[0]
    assert noted.text == "Noted: {list}."
    assert len(noted.values["list"]) == len(answers)  # type: ignore[arg-type]


# What does not fit is asked: the state, the answers kept, the reason told.
ASKED: list[tuple[str, str, dict[str, object], str]] = [
    ("20 or 30", "length", {}, "many-numbers"),
    ("20 to 30", "length", {}, "many-numbers"),
    ("20 by 500", "length", {}, "many-numbers"),
    ("500 20", "length", {}, "many-numbers"),
    ("20 15 cake 500", "loaf", {"length": 20, "width": 15}, "no-choice"),
    ("20 15 500", "loaf", {"length": 20, "width": 15}, "no-choice"),
    # Nobody knows the numbers of a menu not yet seen.
    ("20 15 1 500", "loaf", {"length": 20, "width": 15}, "no-choice"),
    ("20 15 rye 5", "dough", {"length": 20, "width": 15, "loaf": "rye"}, "too-small"),
    ("20 15 by 30", "loaf", {"length": 20, "width": 15}, "many-numbers"),
]


@pytest.mark.parametrize(("text", "state", "answers", "reason"), ASKED)
def test_what_does_not_fit_is_asked(
    hold: Hold, text: str, state: str, answers: dict[str, object], reason: str
) -> None:
    conversation = hold("bakery", "length", text)
    assert (conversation.state, conversation.answers) == (state, answers)
    assert conversation.notice[-1] == f"misread:{reason}"
    assert conversation.misreads == 1


def test_what_was_noted_is_told_with_what_is_asked(dialogue: Dialogue, hold: Hold) -> None:
    screen = dialogue.show(hold("bakery", "length", "20 15 cake"))
    assert [line.text for line in screen.lines] == [
        "Noted: {list}.",
        "That is not one of the answers.",
        "Send the number of your answer. Example: {example}",
        "What do you bake?",
    ]


def test_a_menu_on_the_screen_is_answered_by_number(hold: Hold) -> None:
    assert hold("bakery", "loaf", "2 500").answers == {"loaf": "flat", "dough": 500}


def test_names_of_two_words_and_of_two_menus_are_cut_apart(hold: Hold) -> None:
    assert hold("bakery", "loaf", "sweet roll 500 nobody does").answers == {
        "loaf": "sweet",
        "dough": 500,
        "helper": "no",
    }


def test_a_result_is_seen_before_anything_is_answered_beyond_it(hold: Hold) -> None:
    conversation = hold("bakery", "dough", "500 yes 2")
    assert conversation.answers == {"dough": 500, "helper": "yes"}
    assert conversation.state == "plan"


def test_a_menu_that_keeps_nothing_is_not_passed(hold: Hold) -> None:
    assert hold("bakery", "plan", "1 500").state == "plan"


def test_a_free_text_is_one_answer(hold: Hold) -> None:
    assert hold("bakery", "words", "20 15 good").answers == {"words": "20 15 good"}


def test_each_answer_can_be_gone_back_to(hold: Hold) -> None:
    assert hold("bakery", "length", "20 15 rye", "*").state == "loaf"
    assert hold("bakery", "length", "20 15 rye", "*", "*", "*").state == "length"


def test_a_gap_for_thousands_is_not_two_answers(hold: Hold) -> None:
    # One litre is too little dough, and five hundred answers no menu.
    assert hold("bakery", "dough", "1 500").notice == ("misread:many-numbers",)
    # Twenty, then a hundred and fifty; twenty thousand metres is no oven.
    assert hold("bakery", "length", "20 150").answers == {"length": 20, "width": 150}


def test_what_may_be_one_number_or_two_is_asked(registry: Registry) -> None:
    text = (
        "flow: start\nstart: menu\nstates:\n"
        "  menu: {say: One, ask: {type: number, min: 0, max: 9000, example: 5}, store: a, to: b}\n"
        "  b: {say: Two, ask: {type: number, min: 0, max: 9000, example: 5}, store: b, to: c}\n"
        "  c: {say: C., ends: true}\n"
    )
    numbers = Dialogue(load_flows({"start.yaml": text}, registry))
    here = numbers.begin("en").conversation
    read = numbers.answer(here, "1 500", PlainVocabulary()).conversation
    assert (read.state, read.notice) == ("menu", ("misread:ambiguous-number",))
    assert numbers.answer(here, "1 50", PlainVocabulary()).conversation.answers == {"a": 1, "b": 50}


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("20 15 rye 500", ["20", "15", "rye", "500"]),
        ("20 m, 2 buckets of dough", ["20 m", "2 buckets", "of dough"]),
        ("black bread 5", ["black bread", "5"]),
        ("20 by 30 m", ["20", "*30 m"]),
        ("by 30", ["by", "30"]),
        ("20 by by", ["20"]),
        ("", []),
    ],
)
def test_a_text_is_taken_apart(text: str, parts: list[str]) -> None:
    found = split_parts(text, PlainVocabulary(), ("by", "×"))
    assert ["*" * bool(part.tie) + part.text for part in found] == parts


def test_a_text_longer_than_four_messages_is_not_several_answers(hold: Hold) -> None:
    assert hold("bakery", "length", "20 15" + " " * 595).state == "loaf"
    assert hold("bakery", "length", "20 15" + " " * 596).state == "length"


class UnitFirst(PlainVocabulary):
    """A vocabulary that puts the unit first and lets tied sizes share it, as some languages do."""

    def quantities(self, text: str, /) -> tuple[PlainQuantity, ...] | PlainUnreadable:
        numbers = [word for word in text.split() if word.isdecimal()]
        known = all(word in (*numbers, "mita", "hatua", "kwa") for word in text.split())
        if not numbers or not known:
            return PlainUnreadable("no-number")
        unit = "m" if "mita" in text else "pace" if "hatua" in text else None
        return tuple(PlainQuantity(Decimal(number), unit) for number in numbers)


@pytest.mark.parametrize(
    ("text", "answers"),
    [
        ("hatua 40 kwa 20", {"length": 30, "width": 15}),
        ("hatua 40 kwa hatua 20", {"length": 30, "width": 15}),
        ("40 kwa 20 hatua", {"length": 30, "width": 15}),
        ("hatua 40 20", {"length": 30, "width": 20}),
        ("40 hatua 20", {"length": 30, "width": 20}),
        ("hatua 40 hatua 20 rye", {"length": 30, "width": 15, "loaf": "rye"}),
        ("mita 40", {"length": 40}),
    ],
)
def test_units_may_come_first_and_be_shared(
    book: FlowBook, text: str, answers: dict[str, object]
) -> None:
    dialogue = Dialogue(book, joiners=("kwa",))
    here = dialogue.place("sw", "bakery", "length")
    assert dialogue.answer(here, text, UnitFirst()).conversation.answers == answers


def test_two_sides_are_taken_only_where_two_alike_are_asked(hold: Hold) -> None:
    assert hold("reading", "weeks", "2 5").answers == {"weeks": 2, "discount": 5}
    assert hold("reading", "weeks", "2 by 5").notice == ("misread:many-numbers",)


CELLAR = """\
flow: start
start: menu
states:
  menu:
    say: "How many?"
    ask: {type: number, min: 0, max: 9000, example: "5"}
    store: count
    to: drink
  drink:
    say: "Which?"
    options: drinks
    store: drink
    to: kept
  kept:
    say: "Kept in what?"
    options: vessels
    store: kept
    to: years
  years:
    show: advice
    ask: {type: number, min: 0, max: 9, example: "5"}
    store: years
    to: end
  end: {say: "End.", ends: true}
"""


@pytest.fixture
def cellar() -> Callable[[str], Conversation]:
    """Send one text to a cellar."""
    drinks = [
        Option("red", say("Red")),
        Option("red wine", say("Red wine")),
        Option("old", say("Old"), ("1975",)),
    ]
    vessels = [Option("wine bottle", say("Wine bottle")), Option("bottle", say("Bottle"))]
    registry = Registry(
        shows={"advice": lambda *_: [say("Good for five years.")]},
        options={"drinks": lambda *_: drinks, "vessels": lambda *_: vessels},
    )
    dialogue = Dialogue(load_flows({"start.yaml": CELLAR}, registry))

    def send(text: str) -> Conversation:
        here = dialogue.begin("en").conversation
        return dialogue.answer(here, text, PlainVocabulary()).conversation

    return send


def test_words_that_can_be_cut_in_two_ways_are_asked(
    cellar: Callable[[str], Conversation],
) -> None:
    assert cellar("5 old bottle").answers == {"count": 5, "drink": "old", "kept": "bottle"}
    assert "drink" not in cellar("5 red wine bottle").answers


def test_a_number_never_names_a_line_of_a_menu_not_yet_seen(
    cellar: Callable[[str], Conversation],
) -> None:
    assert cellar("5 old").answers == {"count": 5, "drink": "old"}
    assert "drink" not in cellar("5 1975").answers


def test_a_question_below_a_result_is_asked(cellar: Callable[[str], Conversation]) -> None:
    read = cellar("5 old bottle 7")
    assert (read.state, "years" in read.answers) == ("years", False)
    assert read.notice == ("noted:3",)
