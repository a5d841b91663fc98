"""The desk's pages over a database of their own, with an account per role."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from playwright.sync_api import Browser, Page
from werkzeug.test import TestResponse

from service.records import Account, Person, Phone, Plot
from service.settings import read_settings
from service.wiring.app import create_app
from service.wiring.build import build

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
PASSWORD = "a short sentence to keep"
NUMBER = "+10005550100"


class Desk:
    """One desk: its app, store and clock, and short ways to what tests need."""

    def __init__(
        self, app: Flask, unit_of_work: Any, data_dir: Path, hasher: Any, laid_plot: Any
    ) -> None:
        self.app, self.unit_of_work, self.now = app, unit_of_work, NOW
        self.data_dir, self.hasher, self.laid_plot = data_dir, hasher, laid_plot
        self._ids = 0

    def new_id(self) -> str:
        self._ids += 1
        return f"{self._ids:032x}"

    def later(self, **time: float) -> datetime:
        self.now += timedelta(**time)
        return self.now

    def keep(self, room: str, thing: Any) -> Any:
        """Put a record into a room of the store, such as "tickets"."""
        with self.unit_of_work() as work:
            getattr(work, room).add(thing)
            work.commit()
        return thing

    def account(self, name: str, *roles: Any, **more: Any) -> Account:
        kept = self.hasher.hash(PASSWORD)
        made = Account(self.new_id(), name, roles, kept, NOW, **more)
        return self.keep("accounts", made)

    def caller(self, number: str = NUMBER, name: str = "Asha", **answers: Any) -> tuple[Any, Any]:
        """Keep a phone with one person and one laid plot; return the phone and the plot."""
        phone = self.keep("phones", Phone(self.new_id(), number, "en", NOW))
        person = self.keep("people", Person(self.new_id(), phone.id, name, NOW))
        plot = Plot(self.new_id(), phone.id, NOW, NOW, answers={**self.laid_plot, **answers})
        return phone, self.keep("plots", replace(plot, person_id=person.id))

    def actions(self) -> list[str]:
        """Return what the log tells, the oldest first."""
        with self.unit_of_work() as work:
            return [line.action for line in work.accounts.lines(limit=1000)][::-1]

    def sitter(self, name: str = "") -> Sitter:
        """Return somebody with a browser of their own, signed in when a name is given."""
        sitter = Sitter(self.app)
        if name:
            sitter.sign_in(name)
        return sitter


class Sitter:
    """Somebody with a browser that runs no scripts; forms carry the token of the last page."""

    def __init__(self, app: Flask) -> None:
        self.client = app.test_client()
        self.page, self.status = "", 0

    def sign_in(self, name: str, password: str = PASSWORD) -> str:
        self.get("/desk/sign-in")
        return self.post("/desk/sign-in", name=name, password=password)

    def get(self, address: str) -> str:
        return self._keep(self.client.get(address, follow_redirects=True))

    def post(self, address: str, **fields: Any) -> str:
        """Send a form with the token of the page shown last, and follow where it leads."""
        form = {"token": self.token, **fields}
        return self._keep(self.client.post(address, data=form, follow_redirects=True))

    @property
    def token(self) -> str:
        found = re.search(r'name="token" value="([^"]*)"', self.page)
        return unescape(found[1]) if found else ""

    @property
    def alert(self) -> str:
        """Return why the last form was refused."""
        found = re.search(r'role="alert"[^>]*><p>(.*?)</p>', self.page, re.S)
        return unescape(found[1]) if found else ""

    @property
    def notice(self) -> str:
        found = re.search(r'class="notice" role="status">(.*?)</p>', self.page, re.S)
        return unescape(found[1]) if found else ""

    def _keep(self, answer: TestResponse) -> str:
        self.page, self.status = answer.text, answer.status_code
        return self.page


@pytest.fixture
def desk(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    catalogues: Any,
    dialogue: Any,
    hasher: Any,
    laid_plot: Any,
) -> Iterator[Desk]:
    """A desk with the accounts operator, officer, admin, and bound (an officer of Velmora)."""
    # Reading these takes longer than most tests do, and no test changes them.
    monkeypatch.setattr("service.wiring.build.flow_book", lambda: dialogue.book)
    monkeypatch.setattr("service.wiring.build.Catalogues", lambda files: catalogues)
    settings = read_settings({"LITRELINE_DATA_DIR": str(tmp_path), "LITRELINE_REGION": "KE"})
    made: list[Desk] = []
    service = build(settings, clock=lambda: made[0].now if made else NOW)
    service.database.migrate()
    app = create_app(settings, service, hasher=hasher)
    made.append(Desk(app, service.database.unit_of_work, tmp_path, hasher, laid_plot))
    for role in ("operator", "officer", "admin"):
        made[0].account(role, role, phone="+10005550999")
    made[0].account("bound", "officer", districts=("velmora",))
    yield made[0]
    service.database.close()


@pytest.fixture
def sitter(desk: Desk) -> Callable[[str], Sitter]:
    return desk.sitter


# --- a real browser -------------------------------------------------------------------------------


@pytest.fixture
def address(desk: Desk, serve: Any) -> Iterator[str]:
    with serve(desk.app) as address:
        yield address


@pytest.fixture
def open_as(browser: Browser, address: str, follow: Any) -> Iterator[Callable[..., Page]]:
    """Open a page in Chromium as an account: `open_as("operator", "/desk/", width=360)`."""
    contexts = []

    def open_(name: str, path: str = "/desk/", width: int = 1280, **more: Any) -> Page:
        context = browser.new_context(viewport={"width": width, "height": 900}, **more)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(10_000)
        if name:
            page.goto(f"{address}/desk/sign-in")
            page.fill("#name", name)
            page.fill("#password", PASSWORD)
            follow(page.locator("main button.first"))
        page.goto(f"{address}{path}")
        return page

    yield open_
    for context in contexts:
        context.close()


@pytest.fixture
def faults_of() -> Callable[[Page], list[str]]:
    """What is wrong with a page for people: axe's findings, and sideways scrolling."""

    def faults(page: Page) -> list[str]:
        found = Axe().run(page)
        told = [
            f"{one['id']}: {one['help']}: {node['html'][:160]}"
            for one in found.response["violations"]
            for node in one["nodes"]
        ]
        if page.evaluate("document.documentElement.scrollWidth - window.innerWidth") > 0:
            told.append("the page scrolls sideways")
        return told

    return faults
