"""Whatever callers and lists say, the desk shows it as words: no markup, no formula, no header."""

from __future__ import annotations

from typing import Any

import pytest

from service.channels import IncomingText

SCRIPT = "<script>alert(1)</script>"
EVIL = (SCRIPT, '"><img src=x onerror=alert(1)>', "{{1234*5678}}", "javascript:alert(1)", "'\"&<")


def shown(page: str, words: str) -> None:
    """The words stand in the page as text, and nowhere as markup."""
    assert "<script>alert" not in page
    assert "<img src=x" not in page
    assert "7006652" not in page
    assert (
        words.replace("&", "&amp;")
        .replace("<", "&lt;")
        .replace(">", "&gt;")
        .replace("'", "&#39;")
        .replace('"', "&#34;")
        in page
    )


@pytest.mark.parametrize("words", EVIL)
def test_names_and_texts_of_a_caller_are_shown_as_words(desk: Any, words: str) -> None:
    phone, _ = desk.caller(name=words)
    texts = desk.app.extensions["litreline"].texts
    texts.take(IncomingText("http", "m1", phone.number, "1", words), desk.now)
    sitter = desk.sitter("operator")
    page = sitter.get(f"/desk/helpline/callers/{phone.id}")
    assert sitter.status == 200
    shown(page, words)


@pytest.mark.parametrize("words", EVIL)
def test_what_was_searched_for_is_shown_as_words(desk: Any, words: str) -> None:
    sitter = desk.sitter("operator")
    sitter.get("/desk/helpline/find")
    page = sitter.post("/desk/helpline/find", find=words)
    assert sitter.status in (200, 400, 422)
    assert "<script>alert" not in page
    assert "<img src=x" not in page


def test_a_plot_s_own_answers_are_shown_as_words(desk: Any) -> None:
    """An answer that no conversation takes, as a spoilt import or database might hold it."""
    phone, plot = desk.caller(crop=SCRIPT, district=SCRIPT)
    sitter = desk.sitter("operator")
    for address in (
        f"/desk/helpline/callers/{phone.id}",
        f"/desk/helpline/callers/{phone.id}/plots/{plot.id}/form/plan",
    ):
        assert "<script>alert" not in sitter.get(address)


def test_a_name_with_an_end_of_line_makes_no_header(desk: Any) -> None:
    phone, _ = desk.caller()
    sitter = desk.sitter("operator")
    sitter.get(f"/desk/helpline/callers/{phone.id}")
    form = {"token": sitter.token, "new_name": "A\r\nSet-Cookie: evil=1"}
    answer = sitter.client.post(f"/desk/helpline/callers/{phone.id}/people", data=form)
    assert "evil" not in str(answer.headers)


def test_where_to_go_after_signing_in_is_ours(desk: Any) -> None:
    sitter = desk.sitter()
    sitter.get("/desk/sign-in?next=https://evil.example/")
    form = {"token": sitter.token, "name": "operator", "password": "a short sentence to keep"}
    answer = sitter.client.post("/desk/sign-in?next=//evil.example/%0d%0aX: y", data=form)
    assert "evil" not in answer.headers.get("Location", "")


def test_the_handset_shows_what_was_typed_as_words(desk: Any) -> None:
    client = desk.app.test_client()
    client.get("/")
    page = client.post("/begin", data={"token": "x", "phone": SCRIPT}, follow_redirects=True)
    assert "<script>alert" not in page.text
