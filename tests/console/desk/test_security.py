"""Cookies over HTTPS only, a sender that is woken, and numbers that stay out of what is logged."""

from __future__ import annotations

import logging
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from service.settings import read_settings
from service.wiring.app import create_app
from service.wiring.build import build


@pytest.fixture
def other_app(tmp_path: Path, monkeypatch: Any, catalogues: Any, dialogue: Any, desk: Any) -> Any:
    """Make another app over the same data, with other settings."""
    made = []

    def make(wake: Event | None = None, **changes: str) -> Any:
        environ = {f"LITRELINE_{name}": value for name, value in changes.items()}
        settings = read_settings({"LITRELINE_DATA_DIR": str(tmp_path), **environ})
        made.append(build(settings, clock=lambda: desk.now))
        return create_app(settings, made[-1], wake, hasher=desk.hasher)

    yield make
    for service in made:
        service.database.close()


@pytest.mark.parametrize("path", ["/", "/desk/sign-in"])
def test_a_setting_keeps_every_cookie_from_plain_http(other_app: Any, path: str) -> None:
    answer = other_app(HTTPS="yes").test_client().get(path)
    assert "; Secure" in answer.headers["Set-Cookie"]


def test_what_leaves_the_desk_leaves_at_once(other_app: Any, desk: Any) -> None:
    wake = Event()
    desk.app = other_app(wake)
    sitter = desk.sitter("operator")
    wake.clear()
    sitter.get("/desk/own")
    assert not wake.is_set()
    sitter.post("/desk/own/language", language="en")
    assert wake.is_set()


def test_a_search_for_a_number_leaves_no_trace_of_it(
    desk: Any, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    desk.caller("+254712345678")
    sitter = desk.sitter("operator")
    sitter.get("/desk/helpline/find")
    form = {"token": sitter.token, "find": "+254712345678"}
    answer = sitter.client.post("/desk/helpline/find", data=form)
    assert answer.status_code == 303
    assert "712345678" not in answer.headers["Location"]
    assert "Asha" in sitter.get(answer.headers["Location"])
    assert "712345678" not in caplog.text
    with desk.unit_of_work() as work:
        assert "712345678" not in repr(work.accounts.lines(limit=1000))
