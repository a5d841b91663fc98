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


def test_drawing_sheet_and_calendar_are_in_the_language_asked_for(
    run: Any, card_file: Path, tmp_path: Path
) -> None:
    svg, pdf, ics = (tmp_path / name for name in ("p.svg", "p.pdf", "p.ics"))
    files = ("--svg", str(svg), "--pdf", str(pdf), "--ics", str(ics))
    done = run("plan", str(card_file), *files, "--language", "fr")
    assert done.code == 0, done.err
    assert "cuve" in svg.read_text(encoding="utf-8")
    assert "cuve" in PdfReader(BytesIO(pdf.read_bytes())).pages[0].extract_text()
    assert ">tank " not in svg.read_text(encoding="utf-8")
    assert "Arros" in ics.read_text(encoding="utf-8")


def test_a_missing_font_is_told_and_the_drawing_needs_none(
    run: Any, card_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LITRELINE_FONTS_DIR", str(tmp_path))
    target = str(tmp_path / "plan.pdf")
    refused = run("plan", str(card_file), "--pdf", target, "--language", "am")
    assert refused.code != 0
    assert "no font with Ethiopic letters" in refused.err
    assert "fonts-noto-core" in refused.err
    drawing = tmp_path / "plan.svg"
    assert run("plan", str(card_file), "--svg", str(drawing), "--language", "am").code == 0
    assert "ታንከር" in drawing.read_text(encoding="utf-8")
