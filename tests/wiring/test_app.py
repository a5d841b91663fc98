"""The whole service in one process: gateway, page, health, and what a failure looks like."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.channels import IncomingText
from service.gateways import signed_headers
from service.settings import SettingError, Settings
from service.storage import DatabaseUnavailable
from service.text.languages import LANGUAGES
from service.wiring.app import create_app
from service.wiring.build import Service, build, flow_book

NOW = datetime(2026, 7, 1, 9, 30, tzinfo=UTC)
NUMBER = "+10005550100"


@pytest.fixture
def make_app(make_settings: Callable[..., Settings]) -> Iterator[Callable[..., Flask]]:
    made: list[Service] = []

    def make(**changes: str) -> Flask:
        settings = make_settings(**changes)
        service = build(settings, clock=lambda: NOW)
        made.append(service)
        service.database.migrate()
        return create_app(settings, service)

    yield make
    for service in made:
        service.database.close()


@pytest.fixture
def client(make_app: Callable[..., Flask]) -> FlaskClient:
    return make_app().test_client()


def turn(client: FlaskClient, step: int, text: str = "", **more: Any) -> Any:
    phase = "begin" if step == 0 else "continue"
    body = {"session": "s1", "step": step, "from": NUMBER, "input": text, "phase": phase}
    return client.post("/gateway/ussd", json={**body, **more})


def test_a_conversation_over_the_gateway(client: FlaskClient) -> None:
    first = turn(client, 0)
    assert first.status_code == 200
    assert first.json["more"] is True
    assert turn(client, 1, "1").json["text"] != first.json["text"]
    assert turn(client, 1, "2").status_code == 409


def test_letters_of_every_script_leave_as_they_are(client: FlaskClient) -> None:
    turn(client, 0)
    assert "\\u" not in turn(client, 1, "é").text


def test_every_language_that_the_flows_offer_is_spoken() -> None:
    offered = {
        choice.value
        for flow in flow_book().flows.values()
        for state in flow.states.values()
        if state.store == "language"
        for choice in state.choices
    }
    assert offered == set(LANGUAGES)


def test_with_a_secret_requests_are_signed(make_app: Callable[..., Flask]) -> None:
    client = make_app(GATEWAY_SECRET="a shared secret").test_client()
    body = b'{"session":"s1","step":0,"from":"+10005550100","phase":"begin"}'
    assert client.post("/gateway/ussd", data=body).status_code == 401
    headers = signed_headers("a shared secret", body, NOW)
    assert client.post("/gateway/ussd", data=body, headers=headers).status_code == 200


def test_health_says_whether_the_database_answers(
    make_settings: Callable[..., Settings], caplog: pytest.LogCaptureFixture
) -> None:
    settings = make_settings()
    service = build(settings)
    client = create_app(settings, service).test_client()
    assert (client.get("/healthz").status_code, client.get("/healthz").json) == (
        200,
        {"status": "ok"},
    )
    unready = client.get("/readyz")
    assert unready.status_code == 503
    assert unready.json == {"status": "not ready", "why": "SchemaMismatch"}
    assert "run `litreline migrate`" in caplog.text
    service.database.migrate()
    assert client.get("/readyz").json == {"status": "ready"}
    service.database.close()


def test_a_failure_inside_is_told_without_details_and_changes_nothing(
    make_app: Callable[..., Flask], caplog: pytest.LogCaptureFixture, monkeypatch: Any
) -> None:
    app = make_app()
    client = app.test_client()
    turn(client, 0)
    with monkeypatch.context() as patch:
        patch.setattr("service.channels.turn.Turns._shown", _fail)
        failed = turn(client, 1, "1")
    assert failed.status_code == 500
    assert failed.json == {
        "error": "something failed here and nothing was changed: send the same step again"
    }
    assert turn(client, 1, "1").status_code == 200


def _fail(*_: Any) -> Any:
    raise LookupError("a bug")


def test_no_number_or_answer_gets_into_the_log(
    make_app: Callable[..., Flask], caplog: pytest.LogCaptureFixture
) -> None:
    """Even when the database refuses a statement that carries them."""
    caplog.set_level(logging.DEBUG)
    app = make_app()
    client = app.test_client()
    turn(client, 0)
    turn(client, 1, "1")
    turn(client, 2, "private words")
    service_database = app.extensions["litreline"].database
    with service_database.engine.begin() as connection:
        connection.exec_driver_sql("DROP TABLE session")
    assert turn(client, 3, "private words").status_code == 500
    assert "no such table" in caplog.text
    assert "5550100" not in caplog.text
    assert "private words" not in caplog.text


@pytest.mark.parametrize(
    ("method", "path", "code"), [("get", "/gateway/ussd", 405), ("post", "/gateway/x", 404)]
)
def test_programs_get_their_errors_as_json(
    client: FlaskClient, method: str, path: str, code: int
) -> None:
    answer = getattr(client, method)(path)
    assert answer.status_code == code
    assert answer.json["error"]


def test_people_get_a_page(client: FlaskClient) -> None:
    answer = client.get("/nowhere")
    assert (answer.status_code, answer.mimetype) == (404, "text/html")
    assert "default-src 'none'" in answer.headers["Content-Security-Policy"]


@pytest.mark.parametrize(
    ("changes", "fault", "words"),
    [
        ({"LANGUAGE": "xx"}, SettingError, "one of en, "),
        ({"DATABASE_URL": "oracle://h/d"}, DatabaseUnavailable, "not supported|not a database URL"),
    ],
)
def test_settings_that_cannot_work_are_refused_at_the_start(
    make_settings: Callable[..., Settings], changes: Any, fault: Any, words: str
) -> None:
    with pytest.raises(fault, match=words):
        build(make_settings(**changes))


def test_the_helpline_of_the_deployment_is_told(make_app: Callable[..., Flask]) -> None:
    client = make_app(HELPLINE="+10005550199").test_client()
    turn(client, 0)
    told = [turn(client, step, "@@@").json["text"] for step in (1, 2, 3, 4)]
    assert any("+10005550199" in text for text in told)


def signed(client: FlaskClient, address: str, body: dict[str, Any]) -> Any:
    """Post a signed body; return what posts the very same octets and headers again."""
    raw = json.dumps(body).encode()
    headers = signed_headers("a shared secret", raw, NOW)

    def send() -> Any:
        return client.post(address, data=raw, headers=headers)

    return send


def test_a_signed_request_sent_again_by_anybody_changes_nothing(
    make_app: Callable[..., Flask],
) -> None:
    """All that a gateway sends is idempotent, so that no list of seen signatures is needed."""
    app = make_app(GATEWAY_SECRET="a shared secret")
    client, database = app.test_client(), app.extensions["litreline"].database
    call = {"session": "s1", "from": NUMBER, "phase": "continue"}
    first = signed(client, "/gateway/ussd", {**call, "step": 0, "phase": "begin"})
    second = signed(client, "/gateway/ussd", {**call, "step": 1, "input": "1"})
    assert first().status_code == 200
    screen = second().json
    assert second().json == screen
    assert first().status_code == 409
    assert second().json == screen
    text = signed(client, "/gateway/sms", {"id": "m1", "from": NUMBER, "to": "1", "text": "hi"})
    assert {text().status_code for _ in range(3)} == {202}
    with database.unit_of_work() as work:
        assert work.outbox.counts() == {"queued": 1}
    other = signed(client, "/gateway/sms", {"id": "m1", "from": NUMBER, "to": "1", "text": "ho"})
    assert other().status_code == 409


def test_what_was_learnt_by_call_is_known_by_text(make_app: Callable[..., Flask]) -> None:
    app = make_app()
    client, service = app.test_client(), app.extensions["litreline"]
    turn(client, 0)
    for step, text in enumerate(("1", "aru", "1", "1", "20"), start=1):
        turn(client, step, text)
    body = {"id": "m1", "from": NUMBER, "to": "1", "text": "hello"}
    assert client.post("/gateway/sms", json=body).status_code == 202
    with service.database.unit_of_work() as work:
        caller = work.caller(NUMBER, "sms", "")
    assert caller.plot is not None
    assert caller.standing.answers["plot_length_m"] == 20
    assert caller.plot.answers["plot_length_m"] == 20


def test_answers_may_be_corrected_by_text(make_app: Callable[..., Flask]) -> None:
    app = make_app()
    service = app.extensions["litreline"]
    for number, text in enumerate(("20 15 tomato 3 500 2", "tank 1000", "crop onion")):
        incoming = IncomingText("http", f"m{number}", NUMBER, "1", text)
        service.texts.take(incoming, NOW)
    with service.database.unit_of_work() as work:
        kept = work.caller(NUMBER, "sms", "").plot.answers
    assert (kept["tank_volume_l"], kept["crop"]) == (1000, "onion")
