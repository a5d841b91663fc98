"""Sentences of flow files reach the translators, with their line, place, note and room."""

from io import BytesIO

import pytest
from babel.messages.extract import extract

from service.errors import TextFileError
from service.text.extract import extract_flow, flow_texts

FLOW = """\
flow: plan
start: length
states:
  length:
    say: "How long is the plot? Example: 20"
    note: "First question.
      The number stays."
    help: Measure along the longer side.
    ask: {type: length, min: 2, max: 200}
    to: next
  next:
    say: no
    choices:
      - {key: 1, say: "See the plan", to: length}
      - key: 2
        say: >-
          Answer more,
          for a surer plan
        note: "budget: 40 septets or 30 units"
        to: length
  stand:
    say: "Have a builder check the stand."
    note: "Caution: keep the order."
    ends: true
"""


def test_every_sentence_is_found_with_its_line_and_notes():
    found = flow_texts(FLOW, "flows/plan.yaml")
    assert [(each.line, each.text) for each in found] == [
        (5, "How long is the plot? Example: 20"),
        (8, "Measure along the longer side."),
        (12, "no"),
        (14, "See the plan"),
        (16, "Answer more, for a surer plan"),
        (22, "Have a builder check the stand."),
    ]
    room = "budget: 306 septets or 201 units"
    note = "First question. The number stays."
    assert found[0].notes == ("where: plan/length", note, room)
    assert found[1].notes == ("where: help of plan/length", note, room)
    assert found[3].notes == (
        "where: choice 1 of plan/next",
        "budget: 140 septets or 60 units",
    )
    assert found[4].notes == ("where: choice 2 of plan/next", "budget: 40 septets or 30 units")


def test_babel_takes_the_same_through_its_own_door():
    found = list(extract("service.text.extract:extract_flow", BytesIO(FLOW.encode())))
    assert [(line, text) for line, text, _, _ in found] == [
        (each.line, each.text) for each in flow_texts(FLOW, "x")
    ]
    assert "where: plan/length" in found[0][2]


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ('flow: plan\nstates:\n  a: {say: "open\n', r"flows/plan\.yaml:\d: "),
        ("flow: [\n", r"flows/plan\.yaml:2: "),
        ("\x00", r"flows/plan\.yaml:1: "),
    ],
)
def test_a_file_that_is_no_yaml_is_refused_with_its_line(text, problem):
    with pytest.raises(TextFileError, match=problem):
        flow_texts(text, "flows/plan.yaml")


@pytest.mark.parametrize("text", ["", "- a\n- b\n", "flow: plan\n", "states: 3\n", "a: &a [*a]\n"])
def test_a_file_without_states_has_no_sentences(text):
    assert flow_texts(text, "flows/plan.yaml") == ()


def test_an_undecodable_file_is_not_swallowed():
    with pytest.raises(UnicodeDecodeError):
        list(extract_flow(BytesIO(b"\xff"), (), (), {}))


def test_the_name_of_a_question_is_a_word_for_translators() -> None:
    text = FLOW.replace("    to: next\n", '    called: "length"\n    to: next\n', 1)
    (name,) = [found for found in flow_texts(text, "plan.yaml") if found.text == "length"]
    assert name.notes[0] == "where: called of plan/length"
    assert "correct an answer" in name.notes[1]
