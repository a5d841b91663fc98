"""Accounts by command: made, listed, given another password."""

from __future__ import annotations

import re
from typing import Any

import pytest


def password_in(told: str) -> str:
    found = re.search(r"told this once: (\S+)", told)
    assert found
    return found[1]


def test_an_account_is_made_with_a_password_told_once(run: Any) -> None:
    assert "no accounts yet" in run("accounts", "list").out
    made = run("accounts", "add", "Neema", "--role", "officer", "--role", "operator",
               "--district", "velmora", "--phone", "+10005550100")  # fmt: skip
    assert made.code == 0
    assert len(password_in(made.out)) == 19
    listed = run("accounts", "list").out
    assert listed == "Neema: operator, officer in velmora\n"
    assert "0005550100" not in listed


def test_a_name_that_is_taken_is_refused(run: Any) -> None:
    run("accounts", "add", "Neema", "--role", "admin")
    refused = run("accounts", "add", "neema", "--role", "admin")
    assert refused.code == 2
    assert "That name is taken" in refused.err


def test_another_password_is_given(run: Any) -> None:
    first = run("accounts", "add", "Neema", "--role", "admin")
    second = run("accounts", "password", "NEEMA")
    assert second.code == 0
    assert password_in(first.out) != password_in(second.out)
    unknown = run("accounts", "password", "nobody")
    assert (unknown.code, unknown.out) == (2, "")


class Terminal:
    """A standard input at which somebody sits."""

    def isatty(self) -> bool:
        return True


def at_terminal(monkeypatch: Any, *typed: str) -> None:
    answers = iter(typed)
    monkeypatch.setattr("service.cli.accounts.sys.stdin", Terminal())
    monkeypatch.setattr("service.cli.accounts.getpass.getpass", lambda prompt: next(answers))


@pytest.mark.parametrize(
    ("typed", "code", "told"),
    [
        (("a long sentence here", "a long sentence here"), 0, "account Neema made"),
        (("a long sentence here", "another one"), 2, "not the same"),
        (("tiny", "tiny"), 2, "at least 12 letters"),
    ],
)
def test_a_password_is_asked_for_twice(
    data_dir: Any, monkeypatch: Any, capsys: Any, typed: Any, code: int, told: str
) -> None:
    from service.cli import main

    at_terminal(monkeypatch, *typed)
    assert main(["accounts", "add", "Neema", "--role", "admin"]) == code
    said = capsys.readouterr()
    assert told in said.out + said.err
    assert typed[0] not in said.out + said.err
