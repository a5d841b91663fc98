"""Each page for each role: opened, refused, or nothing there; each form without its token."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from werkzeug.routing import AnyConverter, BaseConverter, IntegerConverter

from service.console.desk.access import ANYBODY, OPEN, marks_of

ROLES = ("operator", "officer", "admin")


def pages(app: Flask) -> list[tuple[str, str, str]]:
    """Every address of the desk with made-up ids: endpoint, method, path."""
    found = []
    for rule in app.url_map.iter_rules():
        if not rule.rule.startswith("/desk") or rule.endpoint == "desk.static":
            continue
        path = app.url_map.bind("localhost").build(
            rule.endpoint,
            {name: _made_up(rule._converters[name]) for name in rule.arguments},
            method=_method(rule),
        )
        found.append((rule.endpoint, _method(rule), path))
    return found


def _made_up(converter: BaseConverter) -> str | int:
    if isinstance(converter, AnyConverter):
        return sorted(converter.items)[0]
    return 0 if isinstance(converter, IntegerConverter) else "0" * 32


def _method(rule: Any) -> str:
    return "POST" if "POST" in rule.methods else "GET"


def may(marks: tuple[str, ...], role: str) -> bool:
    return bool({OPEN, ANYBODY, role} & set(marks)) or role == "admin"


def test_every_page_is_marked_with_who_may_open_it(desk: Any) -> None:
    unmarked = [
        endpoint
        for endpoint, _, _ in pages(desk.app)
        if not marks_of(desk.app.view_functions[endpoint])
    ]
    assert unmarked == []


def test_nobody_gets_in_without_signing_in(desk: Any) -> None:
    client = desk.app.test_client()
    for endpoint, method, path in pages(desk.app):
        if OPEN in marks_of(desk.app.view_functions[endpoint]):
            continue
        answer = client.open(path, method=method)
        assert answer.status_code in (302, 303), path
        assert answer.headers["Location"].startswith("/desk/sign-in"), path


@pytest.mark.parametrize("role", ROLES)
def test_each_page_opens_for_its_roles_and_no_others(desk: Any, role: str) -> None:
    sitter = desk.sitter(role)
    for endpoint, method, path in pages(desk.app):
        if method == "POST":
            continue
        marks = marks_of(desk.app.view_functions[endpoint])
        answer = sitter.client.get(path)
        if may(marks, role):
            assert answer.status_code in (200, 302, 303, 404), (path, answer.status_code)
            assert answer.status_code == 404 or "0" * 32 not in path, path
        else:
            assert answer.status_code == 403, path
            assert "Not for this account" in answer.text


@pytest.mark.parametrize("role", ROLES)
def test_each_form_is_for_its_roles_and_needs_its_token(desk: Any, role: str) -> None:
    sitter = desk.sitter(role)
    sitter.get("/desk/own")
    token = sitter.token
    for endpoint, method, path in pages(desk.app):
        if method == "GET":
            continue
        for wrong in ({}, {"token": ""}, {"token": "wrong"}, {"token": "é"}):
            answer = sitter.client.post(path, data=wrong)
            assert answer.status_code == 400, path
            assert "not from your page" in answer.text
        if not may(marks_of(desk.app.view_functions[endpoint]), role):
            assert sitter.client.post(path, data={"token": token}).status_code == 403, path


def test_a_form_about_something_unknown_says_so(desk: Any) -> None:
    sitter = desk.sitter("admin")
    sitter.get("/desk/own")
    token = sitter.token
    for _, method, path in pages(desk.app):
        if method == "POST" and "0" * 32 in path:
            answer = sitter.client.post(path, data={"token": token})
            assert answer.status_code in (404, 422), (path, answer.status_code)


def test_no_address_holds_a_number_or_a_name(desk: Any) -> None:
    names = {
        name
        for rule in desk.app.url_map.iter_rules()
        if rule.rule.startswith("/desk")
        for name in rule.arguments
    }
    assert not {"number", "name", "phone", "who"} & names
