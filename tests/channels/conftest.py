"""A small book of two conversations, told in English and a little Swahili."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import delete

from service.channels import Incoming, IncomingText, Reply, Texts, Turns
from service.dialogue import Dialogue, Option, PlainVocabulary, Registry, load_flows
from service.phrases import Number, Screen, say
from service.records import Message, Settlement, UnitOfWork
from service.storage import Database, MemoryStore
from service.storage.tables import metadata, schema_version
from service.text.catalogues import Catalogues
from service.text.render import TWO_PARTS, render
from service.text.vocabulary import WordVocabulary

START = """
flow: start
start: first
states:
  first:
    when:
      - {guard: knows_language, to: menu}
      - {to: language}
  language:
    say: "Choose a language:"
    choices:
      - {key: 1, say: "English", value: en, to: menu}
      - {key: 2, say: "Kiswahili", value: sw, to: menu}
    store: language
  menu:
    say: "What do you need?"
    choices:
      - {key: 1, say: "Plan a plot", to: "flow:plan"}
      - {key: 2, say: "Read on", to: long}
      - {key: 3, say: "Nothing", to: bye}
      - {key: 4, say: "Break", to: broken}
      - {key: 5, say: "Change language", to: language}
  long:
    show: long
    choices:
      - {key: 1, say: "Main menu", to: menu}
  broken:
    show: broken
    to: bye
  bye:
    say: "Goodbye."
    ends: true
"""

PLAN = """
flow: plan
start: length
states:
  length:
    say: "How long?"
    ask: {type: length, min: 2, max: 200, unit: m, example: "20"}
    store: length_m
    to: crop
  crop:
    say: "Which crop?"
    options: crops
    store: crop
    to: result
  result:
    show: result
    ends: true
"""

SWAHILI = """
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

msgid "What do you need?"
msgstr "Unahitaji nini?"

msgid "How long?"
msgstr "Urefu gani?"

msgid "You stopped before the end."
msgstr "Uliacha kabla ya mwisho."
"""


def _broken(answers: Any, context: Any) -> Any:
    raise LookupError("a show that fails")


def _result(answers: Any, context: Any) -> Any:
    length, day = Number(answers["length_m"], 1), context.isoformat()
    return (
        say("{length} m of {crop} on {day}.", length=length, crop=answers["crop"], day=day),
        *(say(f"Sentence {n} of the result, with some more words.") for n in range(1, 7)),
    )


REGISTRY = Registry(
    guards={"knows_language": lambda answers, context: "language" in answers},
    shows={
        "result": _result,
        "broken": _broken,
        "long": lambda answers, context: [
            say(f"This is sentence number {n} of many.") for n in range(1, 13)
        ],
    },
    options={
        "crops": lambda answers, context: [
            Option("tomato", say("Tomato")),
            Option("onion", say("Onion")),
        ],
    },
)


@pytest.fixture
def plan_text() -> str:
    return PLAN


@pytest.fixture
def memory() -> MemoryStore:
    return MemoryStore()


@pytest.fixture
def sqlite_url(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path / 'turns.sqlite3'}"


@pytest.fixture(params=["memory", "sqlite", "postgresql"])
def unit_of_work(
    request: pytest.FixtureRequest, memory: MemoryStore
) -> Iterator[Callable[[], UnitOfWork]]:
    if request.param == "memory":
        yield memory.unit_of_work
        return
    database = Database(request.getfixturevalue(f"{request.param}_url"))
    database.migrate()
    with database.engine.begin() as connection:
        for table in reversed(metadata.sorted_tables):
            if table is not schema_version:
                connection.execute(delete(table))
    yield database.unit_of_work
    database.close()


@pytest.fixture
def make_turns(unit_of_work: Callable[[], UnitOfWork]) -> Callable[..., Turns]:
    catalogues = Catalogues({"sw": SWAHILI})
    numbers = itertools.count(1)

    def rendered(screen: Screen, language: str) -> tuple[str, ...]:
        return render(screen, language, catalogues)

    def make(plan: str = PLAN, **changes: Any) -> Turns:
        book = load_flows({"start.yaml": START, "plan.yaml": plan}, REGISTRY)
        given: dict[str, Any] = {
            "dialogue": Dialogue(book),
            "render": rendered,
            "vocabulary_for": lambda language: PlainVocabulary(),
            "unit_of_work": unit_of_work,
            "context_for": lambda now: now.date(),
            "new_id": lambda: f"id{next(numbers)}",
            "language": "en",
        }
        return Turns(**{**given, **changes})

    return make


@pytest.fixture
def turns(make_turns: Callable[..., Turns]) -> Turns:
    return make_turns()


class Texter:
    """Somebody who sends texts, and what stands in the outbox for them."""

    def __init__(self, texts: Any, unit_of_work: Any, number: str = "+10005550100") -> None:
        self.texts, self.unit_of_work, self.number = texts, unit_of_work, number
        self.numbers = itertools.count(1)
        self.now = datetime(2026, 7, 1, 9, 0, tzinfo=UTC)
        self.run = number[-3:]

    def say(self, text: str, **more: Any) -> list[str]:
        """Send a text and return what was put into the outbox for it."""
        self.now += timedelta(seconds=9)
        given: dict[str, Any] = {
            "gateway": "http",
            "id": f"{self.run}-{next(self.numbers)}",
            "number": self.number,
            "recipient": "12345",
            "text": text,
        }
        self.texts.take(IncomingText(**{**given, **more}), self.now)
        return [message.text for message in self.waiting()]

    def waiting(self) -> list[Message]:
        """Take everything out of the outbox."""
        with self.unit_of_work() as work:
            owner = f"test-{self.run}-{next(self.numbers)}"
            claimed = work.outbox.claim(owner, self.now, self.now, 50)
            mine = [one.message for one in claimed]
            for one in mine:
                accepted = Settlement("accepted", False, self.now, 1, settled_at=self.now)
                work.outbox.settle(one.id, owner, accepted)
            work.commit()
        return mine


@pytest.fixture
def make_texts(unit_of_work: Callable[[], UnitOfWork]) -> Callable[..., Texts]:
    catalogues = Catalogues({"sw": SWAHILI})
    numbers = itertools.count(1)

    def rendered(screen: Screen, language: str) -> tuple[str, ...]:
        return render(screen, language, catalogues, budget=TWO_PARTS)

    def make(**changes: Any) -> Texts:
        book = load_flows({"start.yaml": START, "plan.yaml": PLAN}, REGISTRY)
        given: dict[str, Any] = {
            "dialogue": Dialogue(book),
            "render": rendered,
            "words_for": lambda language: WordVocabulary(language, catalogues),
            "unit_of_work": unit_of_work,
            "context_for": lambda now: now.date(),
            "new_id": lambda: f"t{next(numbers)}",
            "language": "en",
            "answers_flow": "plan",
        }
        return Texts(**{**given, **changes})

    return make


@pytest.fixture
def texter(make_texts: Callable[..., Texts], unit_of_work: Any) -> Texter:
    return Texter(make_texts(), unit_of_work)


@pytest.fixture
def make_texter() -> Callable[..., Texter]:
    return Texter


class Caller:
    """Somebody with a phone: dials, answers, hangs up; counts steps as a gateway does."""

    def __init__(self, turns: Turns, number: str = "+10005550100", channel: str = "ussd") -> None:
        self.turns, self.number, self.channel = turns, number, channel
        self.calls = itertools.count(1)
        self.session, self.step = "", 0
        self.now = datetime(2026, 7, 1, 9, 0, tzinfo=UTC)

    def dial(self, **more: Any) -> Reply:
        self.session, self.step = f"{self.number}-{next(self.calls)}", 0
        return self.send("*100#", phase="begin", **more)

    def say(self, text: str, **more: Any) -> Reply:
        self.step += 1
        return self.send(text, **more)

    def send(self, text: str, **more: Any) -> Reply:
        self.now += timedelta(seconds=7)
        given: dict[str, Any] = {
            "channel": self.channel,
            "number": self.number,
            "gateway_session": self.session,
            "step": self.step,
            "text": text,
        }
        return self.turns.take(Incoming(**{**given, **more}), self.now)


@pytest.fixture
def caller(turns: Turns) -> Caller:
    return Caller(turns)


@pytest.fixture
def make_caller() -> Callable[..., Caller]:
    return Caller
