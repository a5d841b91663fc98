"""Hostile input from every side: some of the long run of `tests/benchmarks/fuzz.py`, and by name.

Held elsewhere: forged, old and replayed signatures (`tests/gateways/test_http.py`,
`test_signing.py`, `tests/wiring/test_app.py`), roles (`tests/desk/test_roles.py`,
`tests/console/desk/test_roles.py`), formulas in lists (`tests/desk/test_imports.py`), the bound on
looking numbers up (`tests/desk/test_callers.py`), floods and loops
(`tests/channels/test_bounds.py`), words on the desk's pages
(`tests/console/desk/test_hostile_words.py`).
"""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from service.gateways import signed_headers
from service.records import Person
from service.settings import read_settings
from service.wiring.app import create_app
from service.wiring.build import build

AT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
NUMBER = "+10005550100"


@pytest.fixture(scope="session")
def fuzz() -> ModuleType:
    path = Path(__file__).parents[1] / "benchmarks" / "fuzz.py"
    spec = importlib.util.spec_from_file_location("litreline_fuzz", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(
    ("target", "inputs"),
    [("answers", 400), ("gateway", 300), ("imports", 300), ("cards", 200), ("smpp", 2000)],
)
def test_no_input_ends_in_an_unhandled_error(fuzz: Any, target: str, inputs: int) -> None:
    tally = fuzz.Tally()
    fuzz.TARGETS[target](tally, inputs)
    assert tally.inputs >= inputs
    assert len(tally.done) > 1, "some are taken and some are not, or the run tried nothing"


def test_the_long_run_has_a_share_for_each_target(fuzz: Any) -> None:
    assert set(fuzz.SHARES) == set(fuzz.TARGETS)
    assert sum(fuzz.SHARES.values()) == pytest.approx(1)


@pytest.fixture
def service(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, catalogues: Any, dialogue: Any
) -> Iterator[Any]:
    # Reading these takes longer than most tests do, and no test changes them.
    monkeypatch.setattr("service.wiring.build.flow_book", lambda: dialogue.book)
    monkeypatch.setattr("service.wiring.build.Catalogues", lambda files: catalogues)
    settings = read_settings({"LITRELINE_DATA_DIR": str(tmp_path)})
    made = build(settings, lambda: AT)
    made.database.migrate()
    yield made, create_app(settings, made).test_client(), settings
    made.database.close()


SQL = ("' OR '1'='1", "x'); DROP TABLE phone; --", "1; DELETE FROM outbox", '" OR 1=1', "%_\\")


@pytest.mark.parametrize("words", SQL)
def test_sql_is_words(service: Any, words: str) -> None:
    made, client, _ = service
    text = {"id": f"m{hash(words)}", "from": NUMBER, "to": "1", "text": words}
    assert client.post("/gateway/sms", json=text).status_code == 202
    step = {"session": "s", "step": 0, "from": NUMBER, "phase": "begin"}
    assert client.post("/gateway/ussd", json=step).status_code == 200
    step = {**step, "step": 1, "phase": "continue", "input": words}
    assert client.post("/gateway/ussd", json=step).status_code == 200
    with made.database.unit_of_work() as work:
        phone = work.phones.find(NUMBER)
        (kept,) = work.inbox.of_phone(phone.id, 10)
        assert kept.text == words
        assert work.outbox.counts() == {"queued": 1}
        work.people.add(Person("p", phone.id, "Asha", AT))
        assert [one.name for _, one in work.people.find("sh", 10)] == ["Asha"]
        for anything in (words, "%", "__", "%' OR 1=1 --"):
            assert work.people.find(anything, 10) == ()


@pytest.mark.parametrize("field", ["to", "id"])
@pytest.mark.parametrize("value", ["12\r\nX-Evil: 1", "12\nBcc: a", "12\x00"])
def test_no_header_is_made_of_a_field(service: Any, field: str, value: str) -> None:
    """What goes back to the gateway as a sender or a key holds no end of a line."""
    _, client, _ = service
    body = {"id": "m1", "from": NUMBER, "to": "1", "text": "hi", field: value}
    answer = client.post("/gateway/sms", json=body)
    assert answer.status_code == 400
    assert "X-Evil" not in str(answer.headers)


def test_words_of_a_caller_never_get_into_a_header(service: Any) -> None:
    _, client, _ = service
    client.get("/")
    answer = client.post("/language", data={"language": "en\r\nSet-Cookie: a=b"})
    assert "a=b" not in str(answer.headers)


def test_the_gateway_tells_nobody_which_numbers_are_known(service: Any) -> None:
    """A stranger's number and a known one are answered alike, so that numbers cannot be tried."""
    _, client, _ = service

    def seen(number: str, run: int) -> tuple[Any, ...]:
        text = {"id": f"m{run}", "from": number, "to": "1", "text": "stop"}
        sms = client.post("/gateway/sms", json=text)
        call = {"id": f"c{run}", "from": number, "to": "1", "at": "2026-11-25T09:00:00Z"}
        rang = client.post("/gateway/calls", json=call)
        receipt = {"id": f"r{run}", "state": "failed", "at": "2026-11-25T09:00:00Z"}
        told = client.post("/gateway/receipts", json=receipt)
        return (
            sms.status_code, set(sms.json), rang.status_code, set(rang.json),
            told.status_code, told.json["known"],
        )  # fmt: skip

    first = seen(NUMBER, 1)
    assert seen(NUMBER, 2) == first == seen("+10005550199", 3)


def test_without_the_secret_every_number_is_refused_alike(
    service: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made, _, _ = service
    settings = read_settings(
        {"LITRELINE_DATA_DIR": str(tmp_path), "LITRELINE_GATEWAY_SECRET": "secret"}
    )
    client = create_app(settings, made).test_client()
    known = b'{"session":"s1","step":0,"from":"+10005550100","phase":"begin"}'
    headers = signed_headers("secret", known, AT)
    assert client.post("/gateway/ussd", data=known, headers=headers).status_code == 200
    stranger = known.replace(b"0100", b"0199")
    answers = {client.post("/gateway/ussd", data=one).data for one in (known, stranger, b"{")}
    assert len(answers) == 1
    forged = {
        name: "0" * len(value) if "ignature" in name else value for name, value in headers.items()
    }
    assert forged != headers
    assert client.post("/gateway/ussd", data=known, headers=forged).status_code == 401
