"""Cards in, plans out: one, many, and those that cannot be used."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from service.cli.plan import _cards_of


@pytest.fixture
def card_file(tmp_path: Path, card: Any) -> Path:
    path = tmp_path / "card.json"
    path.write_text(json.dumps(card, indent=1), encoding="utf-8")
    return path


def test_a_card_gives_a_readable_table(run: Any, card_file: Path) -> None:
    planned = run("plan", str(card_file))
    assert planned.code == 0
    assert "builder" in planned.out
    assert "EU %" in planned.out


def test_the_whole_plan_as_json(run: Any, card_file: Path) -> None:
    plan = json.loads(run("plan", str(card_file), "--json").out)
    assert plan["schema"] == 1
    assert plan["layouts"][plan["recommended"]]["line_count"] == 20
    assert not plan["layouts"][0]["emitter_flow_lph"]


def test_with_emitters_every_flow_is_listed(run: Any, card_file: Path) -> None:
    plan = json.loads(run("plan", str(card_file), "--json", "--emitters").out)
    layout = plan["layouts"][0]
    assert len(layout["emitter_flow_lph"]) == layout["line_count"]
    assert len(layout["emitter_flow_lph"][0]) == layout["emitters_per_line"]


def test_the_day_decides_the_month(run: Any, card_file: Path) -> None:
    def month(day: str) -> Any:
        return json.loads(run("plan", str(card_file), "--json", "--today", day).out)["now_month"]

    assert (month("2026-10-20"), month("2026-12-20")) == (10, 12)


def test_a_day_that_is_none_is_refused(run: Any, card_file: Path) -> None:
    refused = run("plan", str(card_file), "--today", "tomorrow")
    assert refused.code == 2
    assert "'tomorrow' is not a day such as 2026-07-01" in refused.err


def test_invented_districts_are_said_to_be_invented_when_used(
    run: Any, tmp_path: Path, card_file: Path, card: Any
) -> None:
    del card["climate"]
    path = tmp_path / "there.json"
    path.write_text(json.dumps({**card, "district": "velmora"}), encoding="utf-8")
    assert "districts are invented" in run("plan", str(path)).err
    assert run("plan", str(card_file)).err == ""


def test_no_invented_price_ranks_a_real_plot(run: Any, card_file: Path) -> None:
    plan = json.loads(run("plan", str(card_file), "--json").out)
    assert {part["cost"] for part in plan["parts"]} == {None}


def test_own_tables_are_read(run: Any, tmp_path: Path, card: Any) -> None:
    import service.scenario

    folder = Path(service.scenario.__file__).parent
    prices = tmp_path / "prices.csv"
    prices.write_text((folder / "prices.csv").read_text().replace("QVL", "ZZW"), encoding="utf-8")
    districts = tmp_path / "districts.csv"
    text = (folder / "districts.csv").read_text()
    districts.write_text(text.replace("velmora,Velmora", "mine,Mine"), encoding="utf-8")
    del card["climate"]
    path = tmp_path / "own.json"
    path.write_text(json.dumps({**card, "district": "mine"}), encoding="utf-8")
    options = ("--districts", str(districts), "--prices", str(prices))
    planned = run("plan", str(path), *options)
    assert (planned.code, planned.err) == (0, "")
    assert run("plan", str(path)).code == 2


def test_a_bad_card_is_explained_field_by_field(run: Any, tmp_path: Path, card: Any) -> None:
    card["plot"]["length_m"] = -3
    card["tank"] = {"volume_l": "500"}
    card["colour"] = "green"
    path = tmp_path / "bad.json"
    path.write_text(json.dumps(card), encoding="utf-8")
    refused = run("plan", str(path))
    assert (refused.code, refused.out) == (2, "")
    told = [line for line in refused.err.splitlines() if "invented" not in line]
    assert len(told) == 3
    for field, value in (("plot.length_m", "-3"), ("tank.volume_l", "'500'"), ("colour", "green")):
        assert any(field in line and value in line for line in told)
    assert all("allowed" in line or "is not" in line for line in told)


def test_a_missing_file_is_named(run: Any) -> None:
    refused = run("plan", "/no/such/card.json")
    assert refused.code == 2
    assert "/no/such/card.json cannot be read: No such file" in refused.err


def test_a_file_of_cards_gives_a_plan_a_line_and_goes_on_after_a_bad_one(
    run: Any, tmp_path: Path, card: Any
) -> None:
    wide = {**card, "plot": {"length_m": 10, "width_m": 30}}
    bad = {**card, "stand_height_m": "high"}
    path = tmp_path / "cards.jsonl"
    lines = [json.dumps(card), "", json.dumps(bad), "{broken", json.dumps(wide)]
    path.write_text("\n".join(lines), encoding="utf-8")
    planned = run("plan", str(path))
    assert planned.code == 2
    found = [json.loads(line) for line in planned.out.splitlines()]
    assert [one.get("schema") for one in found] == [1, None, None, 1]
    assert [one.get("line") for one in found] == [None, 3, 4, None]
    assert "stand_height_m" in found[1]["error"]
    assert "litreline: line 3: stand_height_m" in planned.err


def test_cards_from_standard_input_give_a_plan_a_line(run: Any, card: Any) -> None:
    one = json.dumps(card)
    planned = run("plan", "-", given=f"{one}\n{one}\n")
    assert planned.code == 0
    first, second = planned.out.splitlines()
    assert json.loads(first) == json.loads(second)


def test_a_card_over_several_lines_is_one_card(run: Any, card: Any) -> None:
    planned = run("plan", "-", given=json.dumps(card, indent=2))
    assert planned.code == 0
    assert json.loads(planned.out)["schema"] == 1


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ('{"a": 1}\n{"a": 2}\n', 2),
        ('{\n"a": 1\n}\n', 1),
        ('{"plot": {"length_m": 20},\n "tank": {}}', 1),
        ('{broken\n{"a": 2}\n', 2),
        ("", 0),
        ('{"a": 1}', 1),
    ],
)
def test_where_one_card_ends_and_the_next_begins(text: str, count: int) -> None:
    import io

    cards = [card for card in _cards_of(io.StringIO(text)) if card.strip()]
    assert len(cards) == count
