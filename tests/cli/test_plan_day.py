"""A card's day explained, its calendar, and several crops on one card."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar


@pytest.fixture
def card_file(tmp_path: Path, card: Any) -> Path:
    path = tmp_path / "card.json"
    path.write_text(json.dumps({**card, "planting_date": "2026-10-01"}), encoding="utf-8")
    return path


def test_a_day_is_explained_down_to_the_minutes(run: Any, card_file: Path) -> None:
    told = run("plan", str(card_file), "--explain", "2026-12-15", "--today", "2026-11-25")
    assert told.code == 0
    assert told.out.startswith("Water on 2026-12-15: ")
    for word in ("wetted share", "cover factor", "EU", "source:", "eq. 58", "fills", "minutes"):
        assert word in told.out


def test_without_a_day_it_is_the_day_asked_on(run: Any, card_file: Path) -> None:
    told = run("plan", str(card_file), "--today", "2026-11-25", "--explain")
    assert told.out.startswith("Water on 2026-11-25: ")


def test_the_chain_as_json_ends_at_the_plans_own_minutes(run: Any, card_file: Path) -> None:
    day = ("--today", "2026-12-15", "--json")
    plan = json.loads(run("plan", str(card_file), *day).out)
    (chain,) = json.loads(run("plan", str(card_file), *day, "--explain").out)
    last = chain["steps"][-1]["result"]
    assert last["name"] == "minutes"
    assert last["value"] == pytest.approx(plan["now"]["minutes_per_day"])


def test_a_day_that_is_none_is_refused(run: Any, card_file: Path) -> None:
    refused = run("plan", str(card_file), "--explain", "soon")
    assert refused.code == 2
    assert "'soon' is not a day" in refused.err


def test_a_calendar_is_written_beside_the_plan(run: Any, card_file: Path, tmp_path: Path) -> None:
    path = tmp_path / "plot.ics"
    planned = run("plan", str(card_file), "--today", "2026-11-25", "--ics", str(path))
    assert planned.code == 0
    assert "EU %" in planned.out
    events = Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert any("Water the plot" in event["summary"] for event in events)
    assert any("Flush the lines" in event["summary"] for event in events)


def test_no_calendar_without_a_growing_crop(run: Any, card_file: Path, tmp_path: Path) -> None:
    path = tmp_path / "plot.ics"
    refused = run("plan", str(card_file), "--today", "2028-01-01", "--ics", str(path))
    assert refused.code == 2
    assert "no calendar" in refused.err
    assert not path.exists()


@pytest.mark.parametrize("wish", [("--explain",), ("--ics", "x.ics")])
def test_many_cards_are_neither_explained_nor_made_calendars(
    run: Any, tmp_path: Path, wish: tuple[str, ...]
) -> None:
    (tmp_path / "cards.jsonl").write_text("{}\n", encoding="utf-8")
    refused = run("plan", str(tmp_path / "cards.jsonl"), *wish)
    assert refused.code == 2
    assert "take one card" in refused.err


def test_several_crops_have_their_tables_and_chains(run: Any, tmp_path: Path, card: Any) -> None:
    card.pop("crop", None)
    crops = [
        {"crop": "tomato", "lines": 12, "planting_date": "2026-10-01"},
        {"crop": "onion", "lines": 8, "planting_date": "2026-11-01"},
    ]
    path = tmp_path / "two.json"
    path.write_text(json.dumps({**card, "crops": crops}), encoding="utf-8")
    table = run("plan", str(path), "--today", "2026-11-25").out
    assert "Tomato: 12 lines, 240 m2, planted 2026-10-01" in table
    assert "Onion: 8 lines, 160 m2, planted 2026-11-01" in table
    chains = run("plan", str(path), "--today", "2026-11-25", "--explain").out
    assert chains.count("litres at the valve") == 2
    plan = json.loads(run("plan", str(path), "--today", "2026-11-25", "--json").out)
    assert [crop["crop"] for crop in plan["crops"]] == ["tomato", "onion"]
