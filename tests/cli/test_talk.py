"""A conversation from standard input."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any


def test_each_answer_is_repeated_and_each_screen_counted(run: Any) -> None:
    talked = run("talk", given="##\n1\n")
    assert talked.code == 0
    assert "\n> ##\n" in talked.out
    assert "\n> 1\n" in talked.out
    screens = re.split(r"^> .*\n", talked.out, flags=re.M)
    assert len(screens) == 3
    for screen in screens:
        text, units, room = re.fullmatch(r"(.*)\n\[(\d+) of (\d+)\]\n\n", screen, re.S).groups()
        assert (int(units), int(room)) == (len(text), 160)


def test_it_ends_with_the_input_and_goes_on_at_the_next_call(run: Any) -> None:
    run("talk", given="1\nzzz\n")
    again = run("talk", given="")
    assert again.code == 0
    assert "Go on where you stopped" in again.out
    assert "Go on where you stopped" not in run("talk", "--phone", "other", given="").out


def test_it_ends_with_the_conversation(run: Any) -> None:
    talked = run("talk", given="stop\n1\n1\n")
    assert talked.code == 0
    assert talked.out.count("> ") == 1


def test_the_language_can_be_given(run: Any) -> None:
    assert run("talk", "--language", "sw", given="").code == 0
    refused = run("talk", "--language", "xx", given="")
    assert refused.code == 2
    assert "invalid choice: 'xx'" in refused.err


def test_the_database_can_be_given(run: Any, tmp_path: Path) -> None:
    run("talk", "--database", f"sqlite:///{tmp_path / 'mine.sqlite3'}", given="1\nzzz\n")
    assert (tmp_path / "mine.sqlite3").exists()
    assert "Go on" not in run("talk", given="").out
    refused = run("talk", "--database", "nonsense", given="")
    assert refused.code == 2
    assert "not a database URL" in refused.err


def test_on_a_terminal_it_asks(run: Any, monkeypatch: Any) -> None:
    asked = []
    answers = iter(["1"])

    def ask(prompt: str) -> str:
        asked.append(prompt)
        try:
            return next(answers)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr("builtins.input", ask)
    monkeypatch.setattr("service.cli.talk.sys", _Terminal())
    talked = run("talk")
    assert talked.code == 0
    assert asked == ["> ", "> "]
    assert "> 1" not in talked.out


class _Terminal:
    """A `sys` whose standard input is a terminal."""

    class stdin:
        @staticmethod
        def isatty() -> bool:
            return True
