"""The gateway's address: what it takes, what it refuses and how it says so."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.channels import Conflict, Incoming, IncomingText, MissedCall, Reply
from service.gateways import Inlet, gateway_blueprint, signed_headers
from service.gateways.call_request import ALLOWED as CALL_ALLOWED
from service.gateways.http import MOST_BYTES
from service.gateways.sms_request import SMS_ALLOWED
from service.gateways.ussd_request import ALLOWED, UssdRequest

NOW = datetime(2026, 7, 1, 9, 30, tzinfo=UTC)
GOOD: dict[str, Any] = {
    "session": "a81f3",
    "step": 2,
    "from": "+10005550100",
    "service_code": "*100#",
    "input": "25",
    "phase": "continue",
}


class Recorder:
    """Answers every turn the same way, and remembers what it was given."""

    def __init__(self) -> None:
        self.taken: list[Incoming] = []
        self.fault: Exception | None = None

    def take(self, incoming: Incoming, now: datetime) -> Reply:
        assert now == NOW
        if self.fault:
            raise self.fault
        self.taken.append(incoming)
        return Reply("How wide? नमस्ते", True)


class TextRecorder:
    """Takes every text, and remembers it."""

    def __init__(self) -> None:
        self.taken: list[IncomingText] = []
        self.fault: Exception | None = None
        self.woken = 0

    def take(self, text: IncomingText, now: datetime) -> Any:
        assert now == NOW
        if self.fault:
            raise self.fault
        self.taken.append(text)
        return "taken"

    def wake(self) -> None:
        self.woken += 1


class ReceiptRecorder:
    """Knows the message "m1"."""

    def __init__(self) -> None:
        self.taken: list[Any] = []

    def take(self, message_id: str, state: Any, at: datetime, now: datetime) -> bool:
        assert now == NOW
        self.taken.append((message_id, state, at))
        return message_id == "m1"


@pytest.fixture
def texts() -> TextRecorder:
    return TextRecorder()


@pytest.fixture
def receipts() -> ReceiptRecorder:
    return ReceiptRecorder()


class CallRecorder:
    """Has taken the call "c1" for another number."""

    def __init__(self) -> None:
        self.taken: list[Any] = []

    def take(self, call: MissedCall, now: datetime) -> Any:
        assert now == NOW
        if call.id == "c1":
            raise Conflict("this id was already used for another call")
        self.taken.append(call)
        return "taken"


@pytest.fixture
def calls() -> CallRecorder:
    return CallRecorder()


@pytest.fixture
def turns() -> Recorder:
    return Recorder()


@pytest.fixture
def make_client(
    turns: Recorder, texts: TextRecorder, calls: CallRecorder, receipts: ReceiptRecorder
) -> Callable[..., FlaskClient]:
    def make(*secrets: str, region: str = "") -> FlaskClient:
        app = Flask("gateway")
        inlet = Inlet(turns, texts, calls, receipts, lambda: NOW, region, texts.wake)
        app.register_blueprint(gateway_blueprint(inlet, secrets))
        return app.test_client()

    return make


@pytest.fixture
def client(make_client: Callable[..., FlaskClient]) -> FlaskClient:
    return make_client()


def post(client: FlaskClient, body: Any, **more: Any) -> Any:
    raw = body if isinstance(body, bytes) else json.dumps(body).encode()
    return client.post("/gateway/ussd", data=raw, **more)


def test_a_good_request_becomes_a_turn_and_its_reply(client: FlaskClient, turns: Recorder) -> None:
    answer = post(client, GOOD)
    assert (answer.status_code, answer.json) == (200, {"text": "How wide? नमस्ते", "more": True})
    assert turns.taken == [Incoming("ussd", "+10005550100", "a81f3", 2, "25", "continue", "*100#")]


def test_code_and_input_may_be_left_out_and_other_keys_are_left_alone(
    client: FlaskClient, turns: Recorder
) -> None:
    body = {name: GOOD[name] for name in ("session", "step", "from", "phase")}
    assert post(client, {**body, "network": "a"}).status_code == 200
    assert (turns.taken[0].text, turns.taken[0].service_code) == ("", "")


@pytest.mark.parametrize("field", sorted(ALLOWED))
def test_every_field_has_an_example_that_is_taken(client: FlaskClient, field: str) -> None:
    assert post(client, {**GOOD, field: ALLOWED[field].example}).status_code == 200


def test_every_field_of_the_model_has_its_words() -> None:
    aliases = {field.alias or name for name, field in UssdRequest.model_fields.items()}
    assert aliases == set(ALLOWED)


REFUSED: list[tuple[str, Any]] = [
    ("session", ""),
    ("session", "with space"),
    ("session", "x" * 129),
    ("session", 7),
    ("session", None),
    ("step", -1),
    ("step", "2"),
    ("step", 2.5),
    ("step", True),
    ("step", 10**9),
    ("from", "0005550100"),
    ("from", "+0005550100"),
    ("from", "+123"),
    ("from", "+1234567890123456"),
    ("from", "07I2345678"),
    ("from", "FARM"),
    ("from", "0712 345 678"),
    ("from", "+1000555\n"),
    ("from", 10005550100),
    ("service_code", "9" * 33),
    ("input", "9" * 183),
    ("input", 25),
    ("phase", "end"),
    ("phase", "BEGIN"),
]


@pytest.mark.parametrize(("field", "value"), REFUSED)
def test_a_field_that_cannot_be_used_is_named_with_an_example(
    client: FlaskClient, turns: Recorder, field: str, value: Any
) -> None:
    answer = post(client, {**GOOD, field: value})
    assert answer.status_code == 400
    words, example = ALLOWED[field]
    assert answer.json["problems"] == [{"field": field, "allowed": words, "example": example}]
    assert answer.json["error"] == f"{field} cannot be used: send {words}"
    assert turns.taken == []


@pytest.mark.parametrize("field", ["session", "step", "from", "phase"])
def test_a_missing_field_is_named(client: FlaskClient, field: str) -> None:
    answer = post(client, {name: value for name, value in GOOD.items() if name != field})
    assert answer.status_code == 400
    assert answer.json["error"].startswith(f"{field} is missing: send ")


def test_every_problem_is_told_at_once_and_the_number_is_not_repeated(client: FlaskClient) -> None:
    answer = post(client, {**GOOD, "from": "0254700123456", "step": -3, "phase": "x"})
    assert [one["field"] for one in answer.json["problems"]] == ["step", "from", "phase"]
    assert "700123456" not in answer.text


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[]", b"null", b'"x"', b"session=a", b"\xff\xfe", b'{"session": "\\ud800"}'],
)
def test_what_is_no_json_object_is_refused(client: FlaskClient, body: bytes) -> None:
    answer = post(client, body)
    assert answer.status_code == 400
    assert "JSON object" in answer.json["error"] or answer.json["problems"]


def test_a_body_that_is_too_long_is_refused(client: FlaskClient, turns: Recorder) -> None:
    answer = post(client, b" " * (MOST_BYTES + 1))
    assert (answer.status_code, answer.json["error"]) == (
        413,
        "the body is too long: at most 32768 octets",
    )
    assert post(client, json.dumps(GOOD).encode().ljust(MOST_BYTES)).status_code == 200
    assert len(turns.taken) == 1


def test_a_conflict_is_told(client: FlaskClient, turns: Recorder) -> None:
    turns.fault = Conflict("step 2 of this session was already taken with other words")
    answer = post(client, GOOD)
    assert (answer.status_code, answer.json) == (409, {"error": str(turns.fault)})


def test_without_a_secret_only_this_machine_is_answered(
    client: FlaskClient, turns: Recorder
) -> None:
    answer = post(client, GOOD, environ_base={"REMOTE_ADDR": "192.0.2.7"})
    assert answer.status_code == 403
    assert "set LITRELINE_GATEWAY_SECRET" in answer.json["error"]
    through_a_proxy = post(client, GOOD, headers={"X-Forwarded-For": "192.0.2.7"})
    assert through_a_proxy.status_code == 403
    assert turns.taken == []


def test_with_a_secret_a_signed_request_is_answered_from_anywhere(
    make_client: Any, turns: Recorder
) -> None:
    body = json.dumps(GOOD).encode()
    headers = signed_headers("secret", body, NOW)
    elsewhere = {"REMOTE_ADDR": "192.0.2.7"}
    answer = post(make_client("secret"), body, headers=headers, environ_base=elsewhere)
    assert answer.status_code == 200
    assert len(turns.taken) == 1


def test_with_a_secret_this_machine_signs_too(make_client: Any) -> None:
    answer = post(make_client("secret"), GOOD)
    assert answer.status_code == 401
    assert "answers signed requests only" in answer.json["error"]


def test_the_signature_is_looked_at_before_the_body(make_client: Any) -> None:
    """Nobody without the secret learns anything from how a body is read."""
    answer = post(make_client("secret"), b"{not json")
    assert answer.status_code == 401
    headers = signed_headers("secret", b"{not json", NOW)
    assert post(make_client("secret"), b"{not json", headers=headers).status_code == 400


def test_a_changed_body_is_refused(make_client: Any, turns: Recorder) -> None:
    headers = signed_headers("secret", json.dumps(GOOD).encode(), NOW)
    answer = post(make_client("secret"), {**GOOD, "input": "99"}, headers=headers)
    assert (answer.status_code, turns.taken) == (401, [])
    assert "does not match" in answer.json["error"]


TEXT: dict[str, Any] = {
    "id": "m-81f3",
    "from": "+10005550100",
    "to": "12345",
    "text": "20 15 टमाटर",
    "received_at": "2026-07-01T09:29:58Z",
}


def test_a_text_is_taken_and_its_sender_is_done(client: FlaskClient, texts: TextRecorder) -> None:
    answer = client.post("/gateway/sms", json=TEXT)
    assert (answer.status_code, answer.json) == (202, {"id": "m-81f3"})
    assert texts.taken == [IncomingText("http", "m-81f3", "+10005550100", "12345", "20 15 टमाटर")]
    assert texts.woken == 1


def test_a_part_carries_its_place(client: FlaskClient, texts: TextRecorder) -> None:
    client.post("/gateway/sms", json={**TEXT, "ref": 7, "part": 2, "parts": 3})
    (part,) = texts.taken
    assert (part.reference, part.part, part.parts) == (7, 2, 3)


def test_numbers_are_read_the_local_way(make_client: Any, texts: TextRecorder, turns: Any) -> None:
    client = make_client(region="KE")
    assert client.post("/gateway/sms", json={**TEXT, "from": "0712 345 678"}).status_code == 202
    assert post(client, {**GOOD, "from": "00254712345678"}).status_code == 200
    assert texts.taken[0].number == turns.taken[0].number == "+254712345678"


@pytest.mark.parametrize("field", sorted(SMS_ALLOWED))
def test_every_field_of_a_text_has_an_example_that_is_taken(
    client: FlaskClient, field: str
) -> None:
    body = {**TEXT, "ref": 1, field: SMS_ALLOWED[field].example}
    assert client.post("/gateway/sms", json=body).status_code == 202


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("id", ""),
        ("id", "x" * 81),
        ("id", "with space"),
        ("from", "FARM"),
        ("to", "1" * 33),
        ("text", "x" * 1601),
        ("text", None),
        ("received_at", "yesterday"),
        ("received_at", "2026-07-01T09:30:00"),
        ("received_at", "0001-01-01T00:00:00+14:00"),
        ("to", "12\x0045"),
        ("ref", 65_536),
        ("part", 0),
        ("parts", 256),
    ],
)
def test_a_text_that_cannot_be_read_is_refused(
    client: FlaskClient, texts: TextRecorder, field: str, value: Any
) -> None:
    answer = client.post("/gateway/sms", json={**TEXT, field: value})
    assert answer.status_code == 400
    assert answer.json["problems"][0]["field"] == field
    assert texts.taken == []
    assert texts.woken == 0


@pytest.mark.parametrize("parts", [{"part": 3, "parts": 2, "ref": 1}, {"part": 1, "parts": 2}])
def test_parts_that_do_not_fit_are_refused(client: FlaskClient, parts: Any) -> None:
    assert client.post("/gateway/sms", json={**TEXT, **parts}).status_code == 400


def test_the_longest_text_fits_however_it_is_written(
    client: FlaskClient, texts: TextRecorder
) -> None:
    raw = json.dumps({**TEXT, "text": "💧" * 1600}, ensure_ascii=True)
    assert client.post("/gateway/sms", data=raw).status_code == 202
    assert texts.taken[0].text == "💧" * 1600


def test_a_text_under_a_used_id_is_told(client: FlaskClient, texts: TextRecorder) -> None:
    texts.fault = Conflict("this id was already used for another text")
    answer = client.post("/gateway/sms", json=TEXT)
    assert (answer.status_code, answer.json) == (409, {"error": str(texts.fault)})


def test_a_receipt_is_kept_whether_or_not_it_is_known(
    client: FlaskClient, receipts: ReceiptRecorder
) -> None:
    body = {"id": "m1", "state": "delivered", "at": "2026-07-01T12:30:00+03:00"}
    answer = client.post("/gateway/receipts", json=body)
    assert (answer.status_code, answer.json) == (202, {"id": "m1", "known": True})
    other = client.post("/gateway/receipts", json={**body, "id": "m2"})
    assert (other.status_code, other.json) == (202, {"id": "m2", "known": False})
    assert receipts.taken[0] == ("m1", "delivered", NOW)


@pytest.mark.parametrize(
    ("field", "value"), [("id", ""), ("state", "queued"), ("at", "12:30"), ("at", None)]
)
def test_a_receipt_that_cannot_be_read_is_refused(
    client: FlaskClient, receipts: ReceiptRecorder, field: str, value: Any
) -> None:
    body = {"id": "m1", "state": "delivered", "at": "2026-07-01T12:30:00Z", field: value}
    answer = client.post("/gateway/receipts", json=body)
    assert answer.status_code == 400
    assert answer.json["problems"][0]["field"] == field
    assert receipts.taken == []


@pytest.mark.parametrize("address", ["/gateway/sms", "/gateway/receipts"])
def test_texts_and_receipts_are_signed_too(make_client: Any, address: str) -> None:
    client = make_client("secret")
    assert client.post(address, data=b"{}").status_code == 401
    headers = signed_headers("secret", b"{}", NOW)
    assert client.post(address, data=b"{}", headers=headers).status_code == 400


@pytest.mark.parametrize("secret", ["new", "old"])
def test_two_secrets_live_while_one_replaces_the_other(make_client: Any, secret: str) -> None:
    body = json.dumps(GOOD).encode()
    headers = signed_headers(secret, body, NOW)
    assert post(make_client("new", "old"), body, headers=headers).status_code == 200
    assert post(make_client("new"), body, headers=headers).status_code == (
        200 if secret == "new" else 401
    )


@pytest.mark.parametrize(("seconds", "code"), [(299, 200), (301, 401), (-299, 200), (-301, 401)])
def test_outside_of_the_window_a_signature_is_worth_nothing(
    make_client: Any, seconds: int, code: int
) -> None:
    body = json.dumps(GOOD).encode()
    headers = signed_headers("secret", body, NOW + timedelta(seconds=seconds))
    assert post(make_client("secret"), body, headers=headers).status_code == code


RANG = {"id": "c7", "from": "+1 000 555 0100", "to": "12345", "at": "2026-07-01T09:29:00Z"}


def test_a_missed_call_is_taken(client: FlaskClient, calls: CallRecorder) -> None:
    answer = client.post("/gateway/calls", json=RANG)
    assert (answer.status_code, answer.json) == (202, {"id": "c7"})
    at = datetime(2026, 7, 1, 9, 29, tzinfo=UTC)
    assert calls.taken == [MissedCall("http", "c7", "+10005550100", "12345", at)]


@pytest.mark.parametrize("field", sorted(CALL_ALLOWED))
def test_every_field_of_a_call_is_needed_and_has_an_example(
    client: FlaskClient, field: str
) -> None:
    taken = client.post("/gateway/calls", json={**RANG, field: CALL_ALLOWED[field].example})
    assert taken.status_code == 202
    left = {name: value for name, value in RANG.items() if name != field}
    answer = client.post("/gateway/calls", json=left)
    assert answer.status_code == 400
    assert [one["field"] for one in answer.get_json()["problems"]] == [field]


def test_a_call_under_a_used_id_or_unsigned_is_refused(
    client: FlaskClient, make_client: Callable[..., FlaskClient], calls: CallRecorder
) -> None:
    assert client.post("/gateway/calls", json={**RANG, "id": "c1"}).status_code == 409
    assert make_client("hush").post("/gateway/calls", json=RANG).status_code == 401
    assert calls.taken == []
