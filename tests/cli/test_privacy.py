"""`litreline export` and `erase`: everything about a number, or nothing any more."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from service.channels import IncomingText
from service.settings import read_settings
from service.wiring.build import build

NUMBER = "+254700000001"
NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)


@pytest.fixture
def service(data_dir):
    made = build(read_settings({"LITRELINE_DATA_DIR": str(data_dir)}))
    made.database.migrate()
    for place, text in enumerate(("hello", "1", "kot", "1")):
        made.texts.take(IncomingText("http", f"m{place}", NUMBER, "100", text), NOW)
    yield made
    made.database.close()


def test_everything_is_written_as_json(service, run):
    written = run("export", NUMBER)
    assert written.code == 0
    whole = json.loads(written.out)
    assert whole["phone"]["number"] == NUMBER
    assert sorted(one["text"] for one in whole["inbound"]) == ["1", "1", "hello", "kot"]
    assert whole["plots"][0]["answers"]["district"] == "kotsindo"


def test_the_number_may_come_by_the_input(service, run):
    assert json.loads(run("export", "-", given=f"{NUMBER}\n").out)["phone"]["number"] == NUMBER


def test_nothing_is_deleted_without_yes(service, run):
    told = run("erase", NUMBER, "--why", "asked by phone today")
    assert (told.code, "--yes" in told.out) == (1, True)
    assert run("export", NUMBER).code == 0


def test_erased_nothing_is_left_but_the_log(service, run):
    done = run("erase", NUMBER, "--why", "asked by phone today", "--yes")
    assert done.code == 0
    assert done.out.startswith("Deleted ")
    again = run("export", NUMBER)
    assert again.code == 1
    assert "nothing is kept about +254 7** *** 001" in again.err
    with service.database.unit_of_work() as work:
        (line,) = work.accounts.lines(actions=["caller.erased"])
    assert NUMBER not in str(line)


def test_what_is_no_number_is_refused_in_words(service, run):
    refused = run("export", "07I2")
    assert refused.code == 2
    assert "a phone number has digits only" in refused.err
