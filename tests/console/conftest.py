"""The handset page over a real conversation of the shipped flows, in a database of its own."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from service.settings import read_settings
from service.wiring.app import create_app
from service.wiring.build import build

NOW = datetime(2026, 7, 1, 9, 30, tzinfo=UTC)


@pytest.fixture
def app(tmp_path: Path) -> Iterator[Flask]:
    settings = read_settings({"LITRELINE_DATA_DIR": str(tmp_path)})
    service = build(settings, clock=lambda: NOW)
    service.database.migrate()
    yield create_app(settings, service)
    service.database.close()


class Visitor:
    """Somebody with a browser that runs no scripts: follows redirects, fills in the forms."""

    def __init__(self, app: Flask) -> None:
        self.client = app.test_client()
        self.page = ""

    def open(self) -> str:
        return self._keep(self.client.get("/"))

    def send(self, address: str, **fields: str) -> str:
        form = {"token": self.hidden("token"), **fields}
        return self._keep(self.client.post(address, data=form, follow_redirects=True))

    def answer(self, text: str, **fields: str) -> str:
        return self.send("/answer", step=self.hidden("step"), text=text, **fields)

    def begin(self) -> str:
        self.open()
        return self.send("/begin")

    def hidden(self, name: str) -> str:
        found = re.search(rf'name="{name}" value="([^"]*)"', self.page)
        return unescape(found[1]) if found else ""

    @property
    def screen(self) -> str:
        found = re.search(r'id="screen"[^>]*>(.*?)</p>', self.page, re.S)
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
