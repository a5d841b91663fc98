"""The files that `litreline plan` writes beside its answer."""

import json
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from pypdf import PdfReader


@pytest.fixture
def card_file(tmp_path: Path, card: Any) -> Path:
    path = tmp_path / "card.json"
    path.write_text(json.dumps(card), encoding="utf-8")
    return path


def test_a_drawing_shows_each_tap_and_each_lines_share(
    run: Any, card_file: Path, tmp_path: Path
) -> None:
    target = tmp_path / "plan.svg"
    planned = run("plan", str(card_file), "--json", "--svg", str(target))
    assert planned.code == 0, planned.err
    layout = json.loads(planned.out)["layouts"][0]
    drawing = target.read_text(encoding="utf-8")
    ET.fromstring(drawing)
    assert f"{layout['tap_positions_m'][0]:g}" in drawing
    assert "Each line's share" in drawing
    assert layout["emitter_flow_lph"] is None  # The answer itself stays as it was asked for.


def test_a_sheet_carries_cautions_and_parts(run: Any, card_file: Path, tmp_path: Path) -> None:
    target = tmp_path / "plan.pdf"
    assert run("plan", str(card_file), "--pdf", str(target)).code == 0
    text = PdfReader(BytesIO(target.read_bytes())).pages[0].extract_text()
    assert "builder" in text
    assert text.index("builder") < text.index("Parts")
    assert "screen filter 120 mesh" in " ".join(text.split())


@pytest.mark.parametrize("option", ["--svg", "--pdf", "--ics"])
def test_a_folder_that_is_not_there_is_told(
    run: Any, card_file: Path, tmp_path: Path, option: str
) -> None:
    target = tmp_path / "nowhere" / "file"
    refused = run("plan", str(card_file), option, str(target))
    assert refused.code != 0
    assert str(target) in refused.err


@pytest.mark.parametrize("option", ["--svg", "--pdf", "--ics"])
def test_many_cards_draw_nothing(run: Any, tmp_path: Path, option: str) -> None:
    cards = tmp_path / "cards.jsonl"
    cards.write_text("{}\n", encoding="utf-8")
    assert "one card" in run("plan", str(cards), option, str(tmp_path / "x")).err
