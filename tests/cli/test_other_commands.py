"""`migrate`, `districts`, `words` and what `serve` says before it serves."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from service.cli.serve import ServeRefused, greeting, refuse_open_address
from service.settings import read_settings
from service.wiring.build import build


def test_migrating_tells_what_was_applied_and_then_nothing(run: Any, data_dir: Path) -> None:
    first, second = run("migrate"), run("migrate")
    assert first.out.splitlines()[0] == "applied 0001_phone_and_session"
    assert second.out == f"sqlite:///{data_dir}/litreline.sqlite3 is up to date\n"


def test_the_districts_are_listed(run: Any) -> None:
    listed = run("districts", "list")
    assert "velmora   Velmora, ZZ" in listed.out.splitlines()
    assert "these districts are invented" in listed.err
    names = [one["name"] for one in json.loads(run("districts", "list", "--json").out)]
    assert names == ["Aruneth", "Kotsindo", "Velmora"]


@pytest.mark.parametrize("name", ["velmora", "Velmora", "VEL"])
def test_a_district_is_shown_by_its_first_letters(run: Any, name: str) -> None:
    shown = run("districts", "show", name)
    assert shown.code == 0
    assert shown.out.startswith("Velmora, ZZ (velmora)\n")
    assert "source: invented for demonstration" in shown.out


def test_a_district_as_json(run: Any) -> None:
    shown = json.loads(run("districts", "show", "aru", "--json").out)
    assert [month["month"] for month in shown["months"]] == list(range(1, 13))
    assert all(month["eto_mm_day"] > 0 for month in shown["months"])
    assert shown["source"].startswith("invented")


@pytest.mark.parametrize(
    ("name", "words"),
    [("zzz", "no district begins with 'zzz'"), ("", "several districts begin with ''")],
)
def test_a_name_that_is_not_one_district_lists_them(run: Any, name: str, words: str) -> None:
    refused = run("districts", "show", name)
    assert refused.code == 2
    assert f"{words}: Aruneth, Kotsindo, Velmora" in refused.err


def test_words_hands_on(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    handed: list[Any] = []
    monkeypatch.setattr("service.wiring.words.main", lambda given: handed.append(given) or 7)
    assert run("words", "report", "sw").code == 7
    assert run("words").code == 7
    assert handed == [["report", "sw"], ["check"]]


@pytest.mark.parametrize("address", ["0.0.0.0:8000", "192.168.1.4:80", "[::]:8000", "host:1"])
def test_an_open_address_needs_a_secret(run: Any, monkeypatch: Any, address: str) -> None:
    monkeypatch.setenv("LITRELINE_LISTEN", address)
    refused = run("serve")
    assert refused.code == 2
    assert "so set LITRELINE_GATEWAY_SECRET first" in refused.err
    with pytest.raises(ServeRefused):
        refuse_open_address(read_settings({"LITRELINE_LISTEN": address}))
    secret = {"LITRELINE_LISTEN": address, "LITRELINE_GATEWAY_SECRET": "shared"}
    refuse_open_address(read_settings(secret))


@pytest.mark.parametrize("address", ["127.0.0.1:8000", "localhost:8000", "[::1]:8000"])
def test_this_machine_needs_none(address: str) -> None:
    refuse_open_address(read_settings({"LITRELINE_LISTEN": address}))


def test_the_greeting_says_where_to_look(data_dir: Path) -> None:
    settings = read_settings(
        {"LITRELINE_DATA_DIR": str(data_dir), "LITRELINE_LISTEN": "[::1]:9000"}
    )
    told = greeting(settings, build(settings))
    assert "Handset page:    http://[::1]:9000/\n" in told
    assert "curl -s http://[::1]:9000/gateway/ussd" in told
    assert "invented" in told
    signed = read_settings({"LITRELINE_DATA_DIR": str(data_dir), "LITRELINE_GATEWAY_SECRET": "s"})
    assert "curl" not in greeting(signed, build(signed))
