"""A name and a new answer correct what was answered before; the open question stays open."""

from __future__ import annotations

from typing import Any

import pytest

from service.dialogue import Dialogue, PlainVocabulary, Registry, load_flows
from service.errors import TextFileError
from service.phrases import Number, say

FLOW = """\
flow: start
start: tank
states:
  tank:
    say: "How many litres?"
    ask: {type: volume, min: 20, max: 20000, example: "500"}
    store: tank
    called: "tank"
    to: crop
  crop:
    say: "Which crop?"
    choices:
      - {key: 1, say: "Tomato", value: tomato}
      - {key: 2, say: "Onion", value: onion}
    store: crop
    called: "crop"
    to: stand
  stand:
    say: "How high?"
    ask: {type: height, min: 0, max: 6, example: "1.5"}
    store: stand
    called: "stand height"
    to: words
  words:
    say: "Anything else?"
    ask: {type: text, example: "no"}
    store: words
    to: large
  large:
    when:
      - {guard: large, to: much}
      - {to: little}
  much:
    show: told
    choices:
      - {key: 1, say: "Again", to: tank}
  little:
    show: told
    choices:
      - {key: 1, say: "Again", to: tank}
      - {key: 2, say: "Menu", to: menu}
  menu:
    say: "Menu"
    choices:
      - {key: 1, say: "Tank", to: tank}
"""

REGISTRY = Registry(
    guards={"large": lambda answers, _: answers["tank"] > 1000},
    shows={"told": lambda answers, _: [say("{litres} L", litres=Number(answers["tank"]))]},
)


@pytest.fixture(scope="module")
def talk() -> Any:
    dialogue = Dialogue(load_flows({"start.yaml": FLOW}, REGISTRY))

    def talk(*texts: str) -> Any:
        conversation = dialogue.begin("en").conversation
        for text in texts:
            outcome = dialogue.answer(conversation, text, PlainVocabulary())
            conversation = outcome.conversation
        return outcome

    return talk


@pytest.mark.parametrize("text", ["tank 1000", "Tank: 1000", "tank = 1000 l", "tank 1 m3"])
def test_an_answer_is_corrected_and_the_question_stays(talk: Any, text: str) -> None:
    outcome = talk("500", "1", text)
    assert outcome.conversation.state == "stand"
    assert outcome.conversation.answers == {"tank": 1000, "crop": "tomato"}
    assert [line.text for line in outcome.screen.lines] == ["Noted: {list}.", "How high?"]
    assert talk("500", "1", text, "2").conversation.answers["stand"] == 2


def test_a_menu_is_corrected_by_its_words_only(talk: Any) -> None:
    assert talk("500", "1", "crop onion").conversation.answers["crop"] == "onion"
    assert talk("500", "1", "crop 2").conversation.answers["crop"] == "tomato"


def test_a_name_of_two_words(talk: Any) -> None:
    outcome = talk("500", "1", "2", "fine", "stand height 3")
    assert outcome.conversation.answers["stand"] == 3
    assert outcome.conversation.state == "little"


def test_a_question_not_answered_yet_is_not_corrected(talk: Any) -> None:
    outcome = talk("500", "crop onion")
    assert "stand" not in outcome.conversation.answers
    assert talk("tank 700").conversation.answers == {"tank": 700}


def test_what_does_not_fit_the_named_question_is_misread(talk: Any) -> None:
    outcome = talk("500", "tank 1000000")
    assert outcome.conversation.answers == {"tank": 500}
    assert outcome.conversation.notice[0].startswith("misread:")


def test_free_text_is_never_a_correction(talk: Any) -> None:
    outcome = talk("500", "1", "2", "tank 1000")
    assert outcome.conversation.answers["tank"] == 500
    assert outcome.conversation.answers["words"] == "tank 1000"


def test_a_result_chosen_by_a_branch_is_chosen_again(talk: Any) -> None:
    outcome = talk("500", "1", "2", "fine", "tank 2000")
    assert outcome.conversation.state == "much"
    assert [line.text for line in outcome.screen.lines] == ["Noted: {list}.", "{litres} L"]
    assert outcome.screen.lines[1].values["litres"] == Number(2000)
    assert talk("500", "1", "2", "fine", "tank 600").conversation.state == "little"


def test_a_screen_no_branch_leads_to_stays(talk: Any) -> None:
    assert talk("500", "1", "2", "fine", "2", "tank 2000").conversation.state == "menu"


def test_back_is_not_changed_by_a_correction(talk: Any) -> None:
    outcome = talk("500", "1", "tank 1000", "*")
    assert outcome.conversation.state == "crop"


def problems(text: str) -> list[str]:
    with pytest.raises(TextFileError) as caught:
        load_flows({"start.yaml": text}, REGISTRY)
    return [str(one) for one in caught.value.problems]


def test_a_name_needs_an_answer_to_keep() -> None:
    told = problems(FLOW.replace('    say: "Menu"\n', '    say: "Menu"\n    called: "menu"\n'))
    assert told == ["start.yaml:44: state 'menu' keeps no answer that could be corrected"]


def test_a_name_means_one_answer() -> None:
    told = problems(FLOW.replace('called: "crop"', 'called: "Tank"'))
    assert told == ["start.yaml:16: 'Tank' is already the name of the answer 'tank'"]
