"""One turn after the other: commands, misread answers, new versions, the end."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from service.dialogue import (
    Conversation,
    Dialogue,
    FlowBook,
    Navigation,
    Place,
    PlainVocabulary,
    Registry,
    load_flows,
    with_page,
)
from service.dialogue.progress import HISTORY
from service.phrases import Number, Screen, say

Hold = Callable[..., Conversation]
VOCABULARY = PlainVocabulary()


def texts(screen: Screen) -> list[str]:
    return [line.text for line in screen.lines]


def test_a_conversation_begins_at_the_start(dialogue: Dialogue) -> None:
    outcome = dialogue.begin("en")
    assert outcome.conversation.place == Place("start", "language")
    assert texts(outcome.screen) == ["Which language?"]
    assert [choice.key for choice in outcome.screen.choices] == ["1", "2"]


def test_a_conversation_may_begin_elsewhere_with_what_is_known(dialogue: Dialogue) -> None:
    outcome = dialogue.begin("fr", "bakery", answers={"length": 20})
    assert outcome.conversation.place == Place("bakery", "length")
    assert outcome.conversation.answers == {"length": 20}
    assert outcome.conversation.language == "fr"


def test_a_main_menu_that_does_not_exist_is_refused(book: FlowBook) -> None:
    with pytest.raises(ValueError, match="is in no flow file"):
        Dialogue(book, main=("start", "nowhere"))


def test_an_answer_stored_as_language_is_the_language(hold: Hold) -> None:
    assert hold("start", "language", "francais").language == "fr"
    assert hold("start", "menu", "1").language == "en"


def test_a_choice_leads_into_another_flow_and_answers_go_along(
    dialogue: Dialogue, hold: Hold
) -> None:
    conversation = hold("start", "language", "1", "2", "Ships", "2", "5", "1")
    assert conversation.place == Place("start", "menu")
    assert conversation.answers == {"language": "en", "book": "Ships", "weeks": 2, "discount": 5}
    assert hold("start", "menu", "1").place == Place("bakery", "length")


@pytest.mark.parametrize(
    ("answers", "state"),
    [
        (("5", "5", "rye", "500", "1"), "plan"),
        (("50", "50", "rye", "500", "yes"), "plan"),
        (("50", "50", "rye", "500", "2"), "alone"),
    ],
)
def test_branches_are_followed_until_there_is_a_screen(
    hold: Hold, answers: tuple[str, ...], state: str
) -> None:
    assert hold("bakery", "length", *answers).state == state


def test_a_screen_that_only_leads_on_offers_next(dialogue: Dialogue) -> None:
    here = dialogue.place("en", "bakery", "alone", {"dough": 40})
    assert [(choice.key, choice.label.text) for choice in dialogue.show(here).choices] == [
        ("1", "Next")
    ]
    assert dialogue.answer(here, "next", VOCABULARY).conversation.state == "plan"
    assert dialogue.answer(here, "2", VOCABULARY).conversation.state == "alone"


def test_a_shown_result_comes_before_the_question(dialogue: Dialogue) -> None:
    screen = dialogue.show(dialogue.place("en", "bakery", "plan", {"dough": 40}))
    assert screen.lines == (say("Bake {litres} L.", litres=Number(40.0)), say("What next?"))


def test_the_context_reaches_what_is_registered(dialogue: Dialogue) -> None:
    here = dialogue.place("en", "reading", "title")
    outcome = dialogue.answer(here, "2", VOCABULARY, context=["One", "Two", "Three"])
    assert outcome.conversation.answers == {"book": "Two"}
    assert len(dialogue.show(here, ["One", "Two", "Three"]).choices) == 3


def test_a_menu_that_is_empty_says_how_to_leave_it(dialogue: Dialogue) -> None:
    here = dialogue.place("en", "reading", "title")
    outcome = dialogue.answer(here, "1", VOCABULARY, context=[])
    assert outcome.conversation.state == "title"
    assert texts(outcome.screen)[-1].startswith("There is nothing to choose here.")


# Back, main, more, help, stop, start


def test_back_restores_the_question_before_and_keeps_the_answers(
    dialogue: Dialogue, hold: Hold
) -> None:
    there = hold("bakery", "length", "20", "15", "rye")
    back = hold("bakery", "length", "20", "15", "rye", "*", "*")
    assert back.place == Place("bakery", "width")
    assert back.answers == there.answers
    assert hold("bakery", "length", "20", "15", "rye", "*", "*", "30").answers == {
        "length": 20,
        "width": 30,
        "loaf": "rye",
    }


def test_back_before_the_first_question_stays(hold: Hold) -> None:
    assert hold("bakery", "length", "*", "*") == hold("bakery", "length")


def test_back_from_a_later_page_is_one_page_back(dialogue: Dialogue, hold: Hold) -> None:
    here = with_page(hold("bakery", "length", "20"), 2)
    assert dialogue.answer(here, "*", VOCABULARY).conversation == replace(here, page=1)


def test_back_skips_questions_that_are_no_more(dialogue: Dialogue) -> None:
    here = dialogue.place("en", "bakery", "loaf")
    gone = (Place("bakery", "length"), Place("bakery", "gone"), Place("gone", "width"))
    here = replace(here, history=(*gone, Place("bakery", "large")))
    assert dialogue.answer(here, "*", VOCABULARY).conversation.place == Place("bakery", "length")


def test_the_history_is_bounded(dialogue: Dialogue) -> None:
    conversation = dialogue.place("en", "bakery", "plan", {"length": 2, "width": 2})
    for _ in range(HISTORY):
        for text in ("1", "500", "1"):
            conversation = dialogue.answer(conversation, text, VOCABULARY).conversation
    assert len(conversation.history) == HISTORY


def test_main_leads_to_the_main_menu_and_back_again(hold: Hold) -> None:
    main = hold("bakery", "length", "20", "**")
    assert main.place == Place("start", "menu")
    assert main.answers == {"length": 20}
    assert hold("bakery", "length", "20", "**", "*").place == Place("bakery", "width")
    assert hold("bakery", "length", "20", "**", "**") == main


def test_more_is_the_next_page_of_the_same_screen(hold: Hold) -> None:
    assert hold("bakery", "length", "x", "#").page == 1
    assert hold("bakery", "length", "x", "#").notice == hold("bakery", "length", "x").notice
    assert hold("bakery", "length", "x", "#", "20").page == 0


def test_help_is_that_of_the_question_and_the_question_again(
    dialogue: Dialogue, hold: Hold
) -> None:
    assert texts(dialogue.show(hold("bakery", "length", "##"))) == [
        "Measure the floor from the door to the back wall.",
        "How long is the oven?",
    ]
    general = dialogue.show(hold("bakery", "width", "help"))
    assert general.lines[0].values == {"back": "*", "main": "**", "more": "#"}
    assert texts(general)[1] == "How wide is the oven?"


def test_help_does_not_count_as_an_answer(hold: Hold) -> None:
    assert hold("bakery", "length", "x", "##").misreads == 1
    assert hold("bakery", "length", "##", "20").answers == {"length": 20}


@pytest.mark.parametrize("word", ["stop", "START"])
def test_stop_and_start_are_left_to_the_channel(dialogue: Dialogue, hold: Hold, word: str) -> None:
    here = hold("bakery", "words")
    outcome = dialogue.answer(here, word, VOCABULARY)
    assert outcome.command == word.lower()
    assert outcome.conversation == here
    assert dialogue.answer(here, "bread", VOCABULARY).command is None


@pytest.mark.parametrize("sent", ["*", " * ", "＊", "back", "Back "])
def test_a_key_or_a_word_goes_back(hold: Hold, sent: str) -> None:
    assert hold("bakery", "length", "20", sent).state == "length"


def test_zero_is_an_answer(hold: Hold) -> None:
    assert hold("reading", "weeks", "0").answers == {"weeks": 0}
    assert hold("start", "menu", "0").state == "goodbye"


def test_a_deployment_sets_other_keys(flow_texts: dict[str, str], registry: Registry) -> None:
    keys = Navigation(back="#", main="##", more="*", help="**")
    dialogue = Dialogue(load_flows(flow_texts, registry, keys))
    here = dialogue.place("en", "bakery", "width")
    assert dialogue.answer(here, "##", VOCABULARY).conversation.state == "menu"
    assert dialogue.answer(here, "*", VOCABULARY).conversation.page == 1


# Answers that were not understood


def test_a_misread_answer_gets_the_reason_an_example_and_the_question(
    dialogue: Dialogue, hold: Hold
) -> None:
    misread = hold("bakery", "length", "500 m")
    assert (misread.state, misread.misreads) == ("length", 1)
    why, send, question = dialogue.show(misread).lines
    assert why == say("That is too large.")
    assert send.text == "Send a length from {low} to {high} metres. Example: {example}"
    assert send.values == {"low": Number(2.0, 3), "high": Number(300.0, 3), "example": "25"}
    assert question == say("How long is the oven?")


def test_a_misread_menu_answer_gets_an_example_and_the_menu(dialogue: Dialogue, hold: Hold) -> None:
    screen = dialogue.show(hold("start", "menu", "9"))
    assert texts(screen)[0] == "That is not one of the answers."
    assert screen.lines[1].values == {"example": "1"}
    assert [choice.key for choice in screen.choices] == ["1", "2", "0"]


def test_three_misread_answers_in_a_row_offer_the_helpline(dialogue: Dialogue, hold: Hold) -> None:
    offer = "If this is hard, call the helpline: a person will help you."
    assert offer not in texts(dialogue.show(hold("bakery", "length", "x", "y")))
    assert offer in texts(dialogue.show(hold("bakery", "length", "x", "y", "z")))
    assert offer in texts(dialogue.show(hold("bakery", "length", "x", "y", "z", "", "1")))
    assert hold("bakery", "length", "x", "y", "20", "x").misreads == 1


def test_the_offer_is_the_registered_one(flow_texts: dict[str, str], registry: Registry) -> None:
    shows: dict[str, Any] = {**registry.shows, "helpline": lambda *_: [say("Ring 123.")]}
    dialogue = Dialogue(load_flows(flow_texts, replace(registry, shows=shows)))
    here = replace(dialogue.place("en", "bakery", "length"), misreads=2)
    screen = dialogue.answer(here, "x", VOCABULARY).screen
    assert texts(screen)[2:] == ["Ring 123.", "How long is the oven?"]


def test_a_long_result_is_not_said_again_after_a_misread_answer(
    dialogue: Dialogue, hold: Hold
) -> None:
    assert "Bake {litres} L." not in texts(dialogue.show(hold("bakery", "plan", "9")))
    assert "Bake {litres} L." in texts(dialogue.show(hold("bakery", "plan", "9", "##")))


def test_a_result_that_is_the_whole_question_is_said_again(dialogue: Dialogue, hold: Hold) -> None:
    misread = hold("reading", "weeks", "2", "5", "9")
    assert texts(dialogue.show(misread))[-1] == "Lent for {weeks} weeks."


def test_an_answer_in_another_unit_is_noted(dialogue: Dialogue, hold: Hold) -> None:
    screen = dialogue.show(hold("bakery", "length", "40 paces"))
    assert screen.lines[0].text == "Noted: {list}."
    assert screen.lines[0].values["list"] == (say("{value} m", value=Number(30.0, 2)),)


# New versions of a flow file


@pytest.fixture
def newer(flow_texts: dict[str, str], registry: Registry) -> Callable[[str, str], Dialogue]:
    """The dialogue after a flow file was changed."""

    def change(old: str, new: str) -> Dialogue:
        files = {**flow_texts, "bakery.yaml": flow_texts["bakery.yaml"].replace(old, new)}
        assert files != flow_texts
        return Dialogue(load_flows(files, registry))

    return change


def test_an_answer_to_an_older_question_is_not_taken(hold: Hold, newer: Any) -> None:
    old = hold("bakery", "length", "20")
    dialogue = newer("How wide is the oven?", "How wide is the door?")
    outcome = dialogue.answer(old, "15", VOCABULARY)
    assert outcome.conversation.place == old.place
    assert outcome.conversation.answers == {"length": 20}
    assert texts(outcome.screen) == [
        "This question has changed. Please answer it as it stands now.",
        "How wide is the door?",
    ]
    again = dialogue.answer(outcome.conversation, "15", VOCABULARY).conversation
    assert again.answers == {"length": 20, "width": 15}


def test_a_question_that_is_gone_leads_to_the_start_of_its_flow(hold: Hold, newer: Any) -> None:
    old = hold("bakery", "length", "20", "15", "rye")
    outcome = newer("dough", "batter").answer(old, "500", VOCABULARY)
    assert outcome.conversation.place == Place("bakery", "length")
    assert outcome.conversation.answers == old.answers


def test_a_flow_that_is_gone_leads_to_the_main_menu(dialogue: Dialogue, hold: Hold) -> None:
    old = replace(hold("bakery", "length", "20"), flow="butcher")
    outcome = dialogue.answer(old, "15", VOCABULARY)
    assert outcome.conversation.place == Place("start", "menu")
    assert outcome.conversation.answers == {"length": 20}


@pytest.mark.parametrize(("command", "state"), [("*", "length"), ("**", "menu"), ("##", "width")])
def test_commands_are_obeyed_in_a_new_version(
    hold: Hold, newer: Any, command: str, state: str
) -> None:
    old = hold("bakery", "length", "20")
    dialogue = newer("How wide is the oven?", "How wide is the door?")
    outcome = dialogue.answer(old, command, VOCABULARY)
    assert outcome.conversation.state == state
    flow = dialogue.book.flows[outcome.conversation.flow]
    assert outcome.conversation.flow_version == flow.version


def test_the_next_page_of_a_changed_question_is_its_first(hold: Hold, newer: Any) -> None:
    old = with_page(hold("bakery", "length", "20"), 1)
    outcome = newer("How wide", "Now how wide").answer(old, "#", VOCABULARY)
    assert outcome.conversation.page == 0
    assert outcome.conversation.notice == ("changed",)


def test_after_resuming_the_next_answer_is_taken(hold: Hold, newer: Any) -> None:
    old = hold("bakery", "length", "20")
    dialogue = newer("How wide", "Now how wide")
    resumed = dialogue.resume(old)
    assert texts(resumed.screen)[-1] == "Now how wide is the oven?"
    assert dialogue.answer(resumed.conversation, "15", VOCABULARY).conversation.state == "loaf"
    assert dialogue.show(old) == resumed.screen


def test_a_change_of_another_flow_does_not_matter(hold: Hold, newer: Any) -> None:
    old = hold("reading", "weeks")
    outcome = newer("How wide", "Now how wide").answer(old, "2", VOCABULARY)
    assert outcome.conversation.state == "discount"


# The end


def test_an_ended_conversation_begins_again_at_the_main_menu(
    dialogue: Dialogue, hold: Hold
) -> None:
    ended = hold("bakery", "words", "good bread")
    assert dialogue.show(ended).ends
    again = dialogue.answer(ended, "hello", VOCABULARY)
    assert again.conversation.place == Place("start", "menu")
    assert again.conversation.answers == {"words": "good bread"}
    assert again.conversation.history == ()
    assert not again.screen.ends


def test_an_ended_conversation_can_still_be_paged_and_left_backwards(hold: Hold) -> None:
    assert hold("bakery", "words", "good bread", "#").state == "done"
    assert hold("bakery", "words", "good bread", "*").state == "words"


def test_the_same_input_has_the_same_outcome(dialogue: Dialogue, hold: Hold) -> None:
    here = hold("bakery", "length", "20")
    kept = here.to_json()
    first = dialogue.answer(here, "15 rye", VOCABULARY)
    second = dialogue.answer(here, "15 rye", VOCABULARY)
    assert first == second
    assert here.to_json() == kept


def test_a_line_of_the_menu_called_like_a_command_is_an_answer(registry: Registry) -> None:
    text = (
        "flow: start\nstart: menu\nstates:\n"
        "  menu:\n    say: Which?\n    choices:\n"
        "      - {key: 1, say: More, to: end}\n      - {key: 2, say: Stop, to: end}\n"
        "  end: {say: End., ends: true}\n"
    )
    dialogue = Dialogue(load_flows({"start.yaml": text}, registry))
    here = dialogue.begin("en").conversation
    assert dialogue.answer(here, "more", VOCABULARY).conversation.state == "end"
    assert dialogue.answer(here, "#", VOCABULARY).conversation.page == 1
    # Whoever sends STOP must be able to rely on it, whatever is on the screen.
    assert dialogue.answer(here, "stop", VOCABULARY).command == "stop"


@pytest.mark.parametrize("text", ["x", "##"])
def test_a_screen_with_more_to_say_begins_at_its_first_page(
    dialogue: Dialogue, hold: Hold, text: str
) -> None:
    here = with_page(hold("bakery", "length", "20"), 2)
    assert dialogue.answer(here, text, VOCABULARY).conversation.page == 0


def test_a_guard_that_is_merely_truthy_is_true() -> None:
    text = (
        "flow: start\nstart: menu\nstates:\n"
        "  menu:\n    when:\n      - {guard: some, to: yes}\n      - {to: no}\n"
        "  yes: {say: Yes., ends: true}\n  no: {say: No., ends: true}\n"
    )
    guards: dict[str, Any] = {"some": lambda *_: 2}
    book = load_flows({"start.yaml": text}, Registry(guards=guards))
    assert Dialogue(book).begin("en").conversation.state == "yes"
