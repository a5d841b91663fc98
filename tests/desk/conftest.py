"""The desk over a store in memory and over SQLite, with the real conversations and tables."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from service.advice import Context
from service.channels import Incoming, Turns
from service.channels.tickets import ticket_effects
from service.desk.callers import Callers
from service.desk.office import Office
from service.desk.people import People
from service.desk.speech import Speech
from service.records import Account, Phone, Plot
from service.storage import Database, MemoryStore
from service.text.render import TWO_PARTS, USSD_PAGE, one_text, render

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
NUMBER = "+10005550100"
LANGUAGES = ("en", "sw", "fr", "hi")


@dataclass
class Desk:
    """What every test of the desk needs: a store, three accounts, a caller with a plot."""

    unit_of_work: Any
    office: Office
    speech: Speech
    dialogue: Any
    planner: Any
    laid_plot: Mapping[str, object]
    operator: Account
    officer: Account
    admin: Account
    now: datetime = NOW

    def context_for(self, now: datetime) -> Context:
        return Context(self.planner, now.date(), helpline="0800 555")

    def one_text(self, screen: Any, language: str) -> str:
        return one_text(screen, language, self.speech_catalogues)

    speech_catalogues: Any = None

    def later(self, **time: float) -> datetime:
        self.now += timedelta(**time)
        return self.now

    def phone(self, number: str = NUMBER, language: str | None = "en") -> Phone:
        phone = Phone(self.office.new_id(), number, language, NOW)
        with self.unit_of_work() as work:
            work.phones.add(phone)
            work.commit()
        return phone

    def plot(self, phone: Phone, **more: Any) -> Plot:
        answers = {**self.laid_plot, **more.pop("answers", {})}
        given = {"id": self.office.new_id(), "phone_id": phone.id, "answers": answers}
        plot = Plot(**{**given, "created_at": NOW, "updated_at": NOW, **more})
        with self.unit_of_work() as work:
            work.plots.add(plot)
            work.commit()
        return plot

    def stored_plot(self, plot_id: str) -> Plot:
        with self.unit_of_work() as work:
            plot = work.plots.get(plot_id)
        assert plot is not None
        return plot

    def outbox(self, phone_id: str) -> list[str]:
        with self.unit_of_work() as work:
            return [one.text for one in work.outbox.of_phone(phone_id)]

    def actions(self) -> list[str]:
        """Return what the log tells, the oldest first."""
        with self.unit_of_work() as work:
            return [line.action for line in work.accounts.lines(limit=1000)][::-1]

    def account(self, name: str, *roles: Any, **more: Any) -> Account:
        made = Account(self.office.new_id(), name, roles, "", NOW, **more)
        with self.unit_of_work() as work:
            work.accounts.add(made)
            work.commit()
        return made

    @property
    def callers(self) -> Callers:
        return Callers(self.office, "KE")

    @property
    def people(self) -> People:
        return People(self.office, LANGUAGES)

    def turns(self) -> Turns:
        """Return the telephone's side, over the same store."""
        return Turns(
            dialogue=self.dialogue,
            render=self.speech.ussd,
            vocabulary_for=self.speech.words_for,
            unit_of_work=self.unit_of_work,
            context_for=self.context_for,
            new_id=self.office.new_id,
            language="en",
            effects=ticket_effects(self.office.new_id),
        )


class Telephone:
    """Somebody who dials and answers."""

    def __init__(self, desk: Desk, number: str = NUMBER) -> None:
        self.desk, self.turns, self.number = desk, desk.turns(), number
        self.session, self.step = "", 0

    def dial(self) -> str:
        self.session, self.step = f"call-{self.desk.office.new_id()}", 0
        return self._send("*100#", phase="begin")

    def say(self, text: str) -> str:
        self.step += 1
        return self._send(text)

    def _send(self, text: str, **more: Any) -> str:
        incoming = Incoming("ussd", self.number, self.session, self.step, text, **more)
        return self.turns.take(incoming, self.desk.later(seconds=5)).text


@pytest.fixture
def make_telephone() -> Any:
    return Telephone


@pytest.fixture(params=["memory", "sqlite"])
def any_unit_of_work(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Any]:
    if request.param == "memory":
        yield MemoryStore().unit_of_work
        return
    database = Database(f"sqlite:///{tmp_path / 'desk.sqlite3'}")
    database.migrate()
    yield database.unit_of_work
    database.close()


@pytest.fixture
def sqlite_unit_of_work(tmp_path: Path) -> Iterator[Any]:
    database = Database(f"sqlite:///{tmp_path / 'large.sqlite3'}")
    database.migrate()
    yield database.unit_of_work
    database.close()


@pytest.fixture
def make_desk(
    catalogues: Any, vocabularies: Any, dialogue: Any, planner: Any, laid_plot: Any
) -> Any:
    def pages(budget: Any) -> Any:
        return lambda screen, language: render(screen, language, catalogues, budget=budget)

    def make(unit_of_work: Any) -> Desk:
        numbers = itertools.count(1)
        office = Office(unit_of_work, lambda: f"{next(numbers):032x}")
        speech = Speech(
            pages(USSD_PAGE),
            pages(TWO_PARTS),
            catalogues.translate,
            lambda language: vocabularies[language],
        )
        accounts = [
            Account(f"a-{role}", role, (role,), "", NOW, phone="+10005550999")
            for role in ("operator", "officer", "admin")
        ]
        with unit_of_work() as work:
            for account in accounts:
                work.accounts.add(account)
            work.commit()
        desk = Desk(unit_of_work, office, speech, dialogue, planner, laid_plot, *accounts)
        desk.speech_catalogues = catalogues
        return desk

    return make


@pytest.fixture
def desk(make_desk: Any, any_unit_of_work: Any) -> Desk:
    return make_desk(any_unit_of_work)


@pytest.fixture
def bound_officer(desk: Desk) -> Account:
    """A field officer of one district only."""
    account = desk.account("bound", "officer", districts=("velmora",))
    return replace(account)
