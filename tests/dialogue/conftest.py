"""A bakery and a reading room: matters far from any field, to hold the room to its word."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from service.dialogue import (
    Conversation,
    Dialogue,
    FlowBook,
    Navigation,
    Option,
    PlainVocabulary,
    Registry,
    load_flows,
)
from service.phrases import Number, Phrase, say

START = """\
flow: start
start: language
states:
  language:
    say: "Which language?"
    options: languages
    store: language
    to: menu
  menu:
    say: "Main menu"
    help: "Choose what you want to talk about."
    choices:
      - {key: 1, say: "Bakery", to: flow:bakery}
      - {key: 2, say: "Reading room", to: flow:reading/title}
      - {key: 0, say: "Leave", to: goodbye}
  goodbye:
    say: "Come again."
    ends: true
"""

BAKERY = """\
flow: bakery
start: length
states:
  length:
    say: "How long is the oven?"
    help: "Measure the floor from the door to the back wall."
    ask: {type: length, min: 2, max: 300, example: "25"}
    store: length
    to: width
  width:
    say: "How wide is the oven?"
    ask: {type: length, min: 2, max: 300, example: "15"}
    store: width
    to: loaf
  loaf:
    say: "What do you bake?"
    options: loaves
    store: loaf
    to: dough
  dough:
    say: "How much dough, in litres?"
    ask: {type: volume, min: 20, max: 20000, example: "500"}
    store: dough
    to: helper
  helper:
    say: "Does somebody help you?"
    choices:
      - {key: 1, say: "Somebody does", value: yes}
      - {key: 2, say: "Nobody does", value: no}
    store: helper
    to: large
  large:
    when:
      - {guard: large_oven, to: helped}
      - {to: plan}
  helped:
    when:
      - {guard: has_helper, to: plan}
      - {to: alone}
  alone:
    say: "A large oven is hard work alone."
    to: plan
  plan:
    show: baking_plan
    say: "What next?"
    choices:
      - {key: 1, say: "Other dough", to: dough}
      - {key: 2, say: "Tell us more", to: words}
      - {key: 3, say: "Main menu", to: flow:start/menu}
  words:
    say: "Tell us in your own words."
    ask: {type: text, max: 20, example: "good bread"}
    store: words
    to: done
  done:
    show: baking_plan
    ends: true
"""

READING = """\
flow: reading
start: title
states:
  title:
    say: "Which book?"
    options: books
    store: book
    to: weeks
  weeks:
    say: "For how many weeks?"
    ask: {type: weeks, min: 0, max: 8, example: "2"}
    store: weeks
    to: discount
  discount:
    say: "What discount do you have?"
    ask: {type: percent, min: -10, max: 100, example: "5"}
    store: discount
    to: lent
  lent:
    show: loan
    to: flow:start/menu
"""

Flows = dict[str, str]
Values = Mapping[str, Any]


def _loaves(answers: Values, context: object) -> list[Option]:
    return [
        Option("rye", say("Rye"), ("black bread",)),
        Option("flat", say("Flat bread"), ("chapati",)),
        Option("sweet", say("Sweet roll")),
    ]


def _languages(answers: Values, context: object) -> list[Option]:
    return [Option("en", say("English")), Option("fr", say("French"), ("francais",))]


def _books(answers: Values, context: Any) -> list[Option]:
    titles = context if isinstance(context, list) else ["Voyages", "Ships"]
    return [Option(title, say("{title}", title=title), (title,)) for title in titles]


def _large(answers: Values, context: object) -> bool:
    return bool(answers.get("length", 0) * answers.get("width", 0) > 400)


def _loan(answers: Values, context: object) -> list[Phrase]:
    return [say("Lent for {weeks} weeks.", weeks=answers["weeks"])]


def _plan(answers: Values, context: object) -> list[Phrase]:
    return [say("Bake {litres} L.", litres=Number(float(answers.get("dough", 0))))]


@pytest.fixture(scope="session")
def registry() -> Registry:
    """The functions that the three flows call."""
    return Registry(
        guards={
            "large_oven": _large,
            "has_helper": lambda answers, _: answers.get("helper") == "yes",
        },
        shows={
            "baking_plan": _plan,
            "loan": _loan,
        },
        options={"loaves": _loaves, "languages": _languages, "books": _books},
    )


@pytest.fixture(scope="session")
def flow_texts() -> Flows:
    """The three flow files by name."""
    return {"start.yaml": START, "bakery.yaml": BAKERY, "reading.yaml": READING}


@pytest.fixture(scope="session")
def book(flow_texts: Flows, registry: Registry) -> FlowBook:
    """The three flows, read."""
    return load_flows(flow_texts, registry, Navigation())


@pytest.fixture(scope="session")
def dialogue(book: FlowBook) -> Dialogue:
    """Conversations of the three flows."""
    return Dialogue(book)


@pytest.fixture
def vocabulary() -> PlainVocabulary:
    """Plain digits and English words."""
    return PlainVocabulary()


@pytest.fixture
def hold(dialogue: Dialogue) -> Callable[..., Conversation]:
    """Send texts one after the other from a state, and return where that leads."""

    def send(flow: str, state: str, *texts: str, context: object = None) -> Conversation:
        conversation = dialogue.place("en", flow, state)
        for text in texts:
            conversation = dialogue.answer(
                conversation, text, PlainVocabulary(), context
            ).conversation
        return conversation

    return send
