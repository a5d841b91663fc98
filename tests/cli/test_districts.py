"""Districts: list, show, and loading a deployment's own."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from service.wiring.files import scenario_file

GOOD = scenario_file("districts.csv").read_text(encoding="utf-8")
MINE = GOOD.replace("velmora,Velmora", "mine,Mine").replace(
    "invented for demonstration: no real place,invented", "met office leaflet,1991-2020"
)


def table(folder: Path, text: str) -> str:
    path = folder / "mine.csv"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_what_was_loaded_is_listed_at_the_next_start(run: Any, tmp_path: Path) -> None:
    assert "invented" in run("districts", "list").err
    loaded = run("districts", "load", table(tmp_path, MINE))
    assert loaded.code == 0
    assert "3 districts checked and kept" in loaded.out
    assert "from temperature alone, so say about: Aruneth" in loaded.err
    listed = run("districts", "list")
    assert "Mine, ZZ" in listed.out
    assert listed.err == ""


def test_a_bad_file_leaves_the_old_and_tells_every_row(run: Any, tmp_path: Path) -> None:
    run("districts", "load", table(tmp_path, MINE))
    lines = GOOD.splitlines()
    lines[3] = lines[3].replace("14.5,23.6", "44.5,23.6")
    lines[5] = lines[5].replace(",4,", ",44,", 1)
    refused = run("districts", "load", table(tmp_path, "\n".join(lines)))
    assert refused.code == 2
    assert "mine.csv:4" in refused.err
    assert "mine.csv:6" in refused.err
    assert "Mine, ZZ" in run("districts", "list").out


def test_a_doubtful_figure_is_kept_and_told(run: Any, tmp_path: Path) -> None:
    lines = MINE.splitlines()
    lines[3] = lines[3].replace("14.5,23.6", "21.5,23.6")
    loaded = run("districts", "load", table(tmp_path, "\n".join(lines)))
    assert loaded.code == 0
    assert "kept, but look at mine.csv:4" in loaded.err


def test_a_setting_that_goes_before_is_told(run: Any, tmp_path: Path, monkeypatch: Any) -> None:
    path = table(tmp_path, MINE)
    monkeypatch.setenv("LITRELINE_DISTRICTS", path)
    assert f"LITRELINE_DISTRICTS={path} is set" in run("districts", "load", path).err


def test_show_tells_source_years_and_how_each_month_was_obtained(run: Any, tmp_path: Path) -> None:
    run("districts", "load", table(tmp_path, MINE))
    shown = run("districts", "show", "mine").out
    assert "source: met office leaflet; years: 1991-2020" in shown
    assert shown.count("eq. 6") == 12
    assert "only temperature known: every month" in run("districts", "show", "aru").out
    months = json.loads(run("districts", "show", "aru", "--json").out)["months"]
    assert {month["eto_method"] for month in months} == {"eq. 52"}
    assert {tuple(month["eto_filled"]) for month in months} == {("only temperature known",)}


def test_show_names_the_gaps_that_were_filled(run: Any, tmp_path: Path) -> None:
    """Without humidity the dew point is taken from Tmin (FAO-56 eq. 48)."""
    rows = [line.split(",") for line in MINE.splitlines()]
    place = rows[1].index("rh_mean_pct")
    text = "\n".join(
        ",".join(["" if n == place and row[0] == "mine" else cell for n, cell in enumerate(row)])
        for row in rows
    )
    run("districts", "load", table(tmp_path, text))
    shown = run("districts", "show", "mine").out
    assert "eq. 6, with gaps filled" in shown
    assert "humidity: dew point" in shown


def test_plans_use_what_was_loaded(run: Any, tmp_path: Path, card: Any) -> None:
    run("districts", "load", table(tmp_path, MINE))
    del card["climate"]
    path = tmp_path / "card.json"
    path.write_text(json.dumps({**card, "district": "mine"}), encoding="utf-8")
    planned = run("plan", str(path), "--json")
    assert planned.code == 0
    assert planned.err == ""
