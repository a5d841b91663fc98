"""The handset page over a real conversation of the shipped flows, in a database of its own."""

from __future__ import annotations

import itertools
import os
import re
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from datetime import UTC, datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from playwright.sync_api import Browser, Locator, sync_playwright
from werkzeug.serving import make_server
from werkzeug.test import TestResponse

from service.settings import read_settings
from service.wiring.app import create_app
from service.wiring.build import build

CHROMIUM = Path("/usr/bin/chromium")
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
NOW = datetime(2026, 7, 1, 9, 30, tzinfo=UTC)


@contextmanager
def served(app: Flask) -> Iterator[str]:
    """Serve at an address that is yielded, without a slash at its end."""

    def whole(environ: Any, start_response: Any) -> list[bytes]:
        # A browser that drops its connection makes this server forget to close a response, and
        # with it the file it was to send. So each one is read to its end, and closed, beforehand.
        with closing(app(environ, start_response)) as parts:  # type: ignore[type-var]
            return [b"".join(parts)]

    server = make_server("127.0.0.1", 0, whole, threaded=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.port}"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


@pytest.fixture
def serve() -> Callable[[Flask], AbstractContextManager[str]]:
    return served


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A browser for one module: while it is open no other test of this process can run a loop."""
    if not CHROMIUM.exists():
        reason = f"no Chromium at {CHROMIUM}: the page was NOT tried in a browser"
        if os.environ.get("CI"):
            pytest.fail(f"{reason}; install the package `chromium`")
        pytest.skip(reason)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def follow() -> Callable[[Locator], None]:
    """Press what leads to another page, and wait until that page is there.

    A press by itself returns while the old page is still shown, and what is typed then is lost.
    """

    def press(link_or_button: Locator) -> None:
        with link_or_button.page.expect_navigation():
            link_or_button.click()

    return press


@pytest.fixture
def app(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, catalogues: Any, dialogue: Any
) -> Iterator[Flask]:
    # Reading these takes longer than most tests do, and no test changes them.
    monkeypatch.setattr("service.wiring.build.flow_book", lambda: dialogue.book)
    monkeypatch.setattr("service.wiring.build.Catalogues", lambda files: catalogues)
    settings = read_settings({"LITRELINE_DATA_DIR": str(tmp_path)})
    seconds = itertools.count()
    service = build(settings, clock=lambda: NOW + timedelta(seconds=next(seconds)))
    service.database.migrate()
    yield create_app(settings, service)
    service.database.close()


class Visitor:
    """Somebody with a browser that runs no scripts: follows redirects, fills in the forms.

    `phone` is which of the two phones is in use, "a" or "b".
    """

    def __init__(self, app: Flask) -> None:
        self.client = app.test_client()
        self.page, self.phone = "", "a"

    def open(self) -> str:
        return self._keep(self.client.get("/"))

    def send(self, address: str, **fields: str) -> str:
        form = {"token": self.hidden("token"), "phone": self.phone, **fields}
        return self._keep(self.client.post(address, data=form, follow_redirects=True))

    def answer(self, text: str, **fields: str) -> str:
        return self.send("/answer", step=self.hidden("step"), text=text, **fields)

    def begin(self) -> str:
        self.open()
        return self.send("/begin")

    def hidden(self, name: str) -> str:
        found = re.search(rf'name="{name}" value="([^"]*)"', self.section)
        return unescape(found[1]) if found else ""

    @property
    def section(self) -> str:
        """Return what the page shows of the phone in use."""
        after = self.page.split(f'<section class="handset" id="{self.phone}"', 1)
        return after[1].split("</section>")[0] if len(after) == 2 else self.page

    @property
    def screen(self) -> str:
        found = re.search(rf'id="{self.phone}-screen"[^>]*>(.*?)</p>', self.page, re.S)
        return unescape(found[1]) if found else ""

    def _keep(self, answer: TestResponse) -> str:
        assert answer.status_code == 200
        self.page = answer.text
        return self.page


@pytest.fixture
def visitor(app: Flask) -> Visitor:
    return Visitor(app)


@pytest.fixture
def another_visitor(app: Flask) -> Visitor:
    return Visitor(app)


@pytest.fixture
def reach_the_plan() -> Any:
    """Answers that lead from the first screen to the main menu and into the plan."""

    def reach(visitor: Visitor) -> None:
        for _ in range(8):
            if "Plan a drip plot" in visitor.screen:
                break
            visitor.answer("1" if "\n1 " in visitor.screen else "aru")
        visitor.answer("Plan a drip plot")

    return reach
