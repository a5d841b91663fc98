"""Commands run in this process, with a data dir of their own."""

from __future__ import annotations

import io
import json
import logging
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from service.cli import main


class Run(NamedTuple):
    code: int
    out: str
    err: str


@pytest.fixture(autouse=True)
def logs_as_they_were() -> Iterator[None]:
    root, ours = logging.getLogger(), logging.getLogger("litreline")
    kept = root.handlers[:], root.level, ours.level
    yield
    root.handlers[:], root.level, ours.level = kept


@pytest.fixture
def data_dir(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("LITRELINE_DATA_DIR", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture
def run(
    data_dir: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., Run]:
    def run(*arguments: str, given: str = "") -> Run:
        monkeypatch.setattr("sys.stdin", io.StringIO(given))
        try:
            code = main(arguments)
        except SystemExit as left:
            code = int(left.code or 0)
        captured = capsys.readouterr()
        return Run(code, captured.out, captured.err)

    return run


@pytest.fixture
def card() -> dict[str, Any]:
    """The example of the documents: tomatoes on 20 m x 20 m from a 500 L tank at 2.5 m."""
    path = Path(__file__).parents[2] / "docs" / "examples" / "card.json"
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return found
