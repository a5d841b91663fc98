"""What is kept beside an answer: however the answer came, and reckoned from all of them."""

import pytest

from service.dialogue import Dialogue, PlainVocabulary, Registry, load_flows

SHOP = """\
flow: start
start: length
states:
  length:
    say: "How long?"
    ask: {type: length, min: 2, max: 300, example: "25"}
    store: length
    also: {told_on: day, doubled: twice}
    called: "length"
    to: width
  width:
    say: "How wide?"
    ask: {type: length, min: 2, max: 300, example: "25"}
    store: width
    to: menu
  menu:
    say: "That is all"
    choices:
      - {key: 1, say: "Again", to: length}
"""
DAY = "the day of the call"


@pytest.fixture(scope="module")
def dialogue():
    also = {"day": lambda answers, day: day, "twice": lambda answers, day: 2 * answers["length"]}
    return Dialogue(load_flows({"start.yaml": SHOP}, Registry(also=also)))


@pytest.fixture
def answers(dialogue):
    def answers(*texts):
        outcome = dialogue.begin("en", context=DAY)
        for text in texts:
            outcome = dialogue.answer(outcome.conversation, text, PlainVocabulary(), DAY)
        return outcome.conversation.answers

    return answers


@pytest.mark.parametrize(
    "texts",
    [("20",), ("20 15",), ("30", "length 20"), ("30", "15", "length 20")],
    ids=["alone", "several at once", "corrected", "corrected later"],
)
def test_more_is_kept_however_the_answer_came(answers, texts):
    kept = answers(*texts)
    assert (kept["length"], kept["told_on"], kept["doubled"]) == (20, DAY, 40)


def test_nothing_is_kept_of_an_answer_that_was_not_understood(answers):
    assert answers("long") == {}
