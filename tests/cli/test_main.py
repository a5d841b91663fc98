"""What holds for every command: help, clear refusals, no traceback."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from importlib import metadata
from typing import Any

import pytest

from service import cli
from service.errors import LitrelineError


def commands(parser: argparse.ArgumentParser, words: tuple[str, ...] = ()) -> Iterator[Any]:
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            told = {choice.dest: choice.help for choice in action._choices_actions}
            for name, sub in action.choices.items():
                yield (*words, name), told.get(name), sub
                yield from commands(sub, (*words, name))


COMMANDS = {" ".join(words): (told, sub) for words, told, sub in commands(cli.parser())}


def test_the_commands_of_this_release() -> None:
    groups = {name.split()[0] for name in COMMANDS}
    assert groups == {
        "plan", "talk", "serve", "send", "work", "accounts", "network", "migrate", "tidy",
        "export", "erase", "districts", "words",
    }  # fmt: skip


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_and_every_option_has_help(name: str, run: Any) -> None:
    told, parser = COMMANDS[name]
    assert told
    assert parser.description
    groups = argparse._SubParsersAction
    assert all(action.help for action in parser._actions if not isinstance(action, groups))
    helped = run(*name.split(), "--help")
    assert helped.code == 0
    assert told.split()[0].lower() in helped.out.lower()


def test_the_version_is_that_of_the_package(run: Any) -> None:
    assert run("--version").out.strip() == metadata.version("litreline")


@pytest.mark.parametrize("arguments", [(), ("fly",), ("districts",), ("plan",)])
def test_a_command_line_that_makes_no_sense_is_refused(run: Any, arguments: Any) -> None:
    refused = run(*arguments)
    assert refused.code == 2
    assert "usage: litreline" in refused.err


@pytest.mark.parametrize(
    "arguments", [("talk",), ("serve",), ("migrate",), ("districts", "list"), ("plan", "-")]
)
def test_a_setting_that_cannot_be_used_is_one_clear_line(
    run: Any, monkeypatch: pytest.MonkeyPatch, arguments: Any
) -> None:
    monkeypatch.setenv("LITRELINE_LISTEN", "nowhere")
    refused = run(*arguments)
    assert refused.code == 2
    assert refused.err.startswith("litreline: LITRELINE_LISTEN='nowhere' cannot be used: ")
    assert refused.err.count("\n") == 1


@pytest.mark.parametrize(
    ("fault", "code"), [(LitrelineError("said plainly"), 2), (KeyboardInterrupt(), 130)]
)
def test_how_a_command_ends(
    run: Any, monkeypatch: pytest.MonkeyPatch, fault: Any, code: int
) -> None:
    def fail(*_: object) -> int:
        raise fault

    monkeypatch.setattr("service.cli.migrate.make_data_dir", fail)
    ended = run("migrate")
    assert (ended.code, ended.out) == (code, "")
    assert ended.err == ("litreline: said plainly\n" if code == 2 else "")
