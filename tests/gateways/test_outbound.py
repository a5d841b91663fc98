"""Sending over HTTP: what a status means, what leaves, and what a broken network makes of it."""

from __future__ import annotations

import json
import socket
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from service.channels import Accepted, NotNow, Outgoing, Refused, Unknown
from service.gateways import HttpGateway, RecordedGateway
from service.gateways.outbound import answered, retry_after
from service.gateways.standin import Faults, network_server

NOW = datetime(2026, 7, 1, 9, 30, tzinfo=UTC)
MESSAGE = Outgoing("m1", "+10005550100", "Valve open 20 min. नमस्ते", "777")

STATUSES: list[tuple[int, Any]] = [
    (200, Accepted()),
    (202, Accepted()),
    (400, Refused("400: the gateway refused this message")),
    (401, Refused("401: the signature was refused", alert=True)),
    (403, Refused("403: this service is not let in", alert=True)),
    (404, Refused("404: there is no gateway at this address", alert=True)),
    (302, Refused("302: there is no gateway at this address", alert=True)),
    (409, NotNow("409: the same message is still on its way")),
    (422, Refused("422: the gateway refused this message")),
    (429, NotNow("429: too many at once", slower=True)),
    (500, Unknown("500: a fault of the gateway")),
    (502, Unknown("502: a fault of the gateway")),
    (503, NotNow("503: the gateway is not available")),
    (504, Unknown("504: a fault of the gateway")),
]


@pytest.mark.parametrize(("status", "expected"), STATUSES)
def test_every_status_means_something(status: int, expected: Any) -> None:
    assert answered(status, {}, NOW) == expected


@pytest.mark.parametrize(
    ("header", "seconds"),
    [
        ("", None),
        ("7", 7.0),
        ("999999", 3600.0),
        ("Wed, 01 Jul 2026 09:30:30 GMT", 30.0),
        ("Wed, 01 Jul 2026 09:00:00 GMT", 0.0),
        ("soon", None),
        ("-5", None),
    ],
)
def test_retry_after_in_either_form(header: str, seconds: float | None) -> None:
    assert retry_after(header, NOW) == seconds
    assert answered(429, {"Retry-After": header}, NOW) == NotNow(
        "429: too many at once", seconds, slower=True
    )


@pytest.fixture
def make_network() -> Iterator[Callable[..., Any]]:
    started = []

    def make(**faults: Any) -> Any:
        server = network_server(
            "http://127.0.0.1:9", clock=lambda: NOW, secret="hush", faults=Faults(**faults),
            receipts=False,
        )  # fmt: skip
        server.start()
        started.append(server)
        return server

    yield make
    for server in started:
        server.stop()


def test_a_message_reaches_the_phone(make_network: Any) -> None:
    network = make_network()
    assert HttpGateway(network.url, "hush").submit(MESSAGE, NOW) == Accepted()
    assert network.network.inbox("+10005550100") == ["Valve open 20 min. नमस्ते"]


def test_the_same_id_twice_reaches_the_phone_once(make_network: Any) -> None:
    network = make_network()
    gateway = HttpGateway(network.url + "/", "hush")
    assert gateway.submit(MESSAGE, NOW) == gateway.submit(MESSAGE, NOW) == Accepted()
    assert len(network.network.inbox("+10005550100")) == 1


def test_a_wrong_secret_or_clock_is_told(make_network: Any) -> None:
    network = make_network()
    wrong = HttpGateway(network.url, "other").submit(MESSAGE, NOW)
    late = HttpGateway(network.url, "hush").submit(MESSAGE, NOW + timedelta(minutes=6))
    assert wrong == late == Refused("401: the signature was refused", alert=True)


def test_another_body_under_the_same_key_is_refused(make_network: Any) -> None:
    network = make_network()
    gateway = HttpGateway(network.url, "hush")
    gateway.submit(MESSAGE, NOW)
    other = Outgoing("m1", "+10005550100", "other words")
    assert gateway.submit(other, NOW) == Refused("422: the gateway refused this message")


@pytest.mark.parametrize(
    ("faults", "expected", "delivered"),
    [
        ({"loss": 1.0}, Unknown("the connection broke"), 0),
        ({"timeout_after_delivery": 1.0}, Unknown("the connection broke"), 1),
        (
            {"timeout_after_delivery": 1.0, "stall_s": 1.0},
            Unknown("no answer from the gateway in time"),
            1,
        ),
        ({"error_503": 1.0}, NotNow("503: the gateway is not available", 0.0), 0),
    ],
)
def test_a_bad_network_never_raises(
    make_network: Any, faults: Any, expected: Any, delivered: int
) -> None:
    network = make_network(**faults)
    gateway = HttpGateway(network.url, "hush", timeout_s=(1.0, 0.4))
    assert gateway.submit(MESSAGE, NOW) == expected
    assert len(network.network.inbox("+10005550100")) == delivered


def test_after_a_broken_connection_the_next_message_gets_a_new_one(make_network: Any) -> None:
    network = make_network(loss=0.5, seed=3)
    gateway = HttpGateway(network.url, "hush")
    answers = [gateway.submit(Outgoing(f"m{n}", "+10005550100", "hi"), NOW) for n in range(20)]
    assert answers.count(Accepted()) == len(network.network.inbox("+10005550100"))
    assert 0 < answers.count(Accepted()) < 20


def test_nobody_there_is_no_doubt() -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    answer = HttpGateway(f"http://127.0.0.1:{port}").submit(MESSAGE, NOW)
    assert answer == NotNow("no connection to the gateway")
    unknown = HttpGateway("http://no-such-host.invalid").submit(MESSAGE, NOW)
    assert unknown == NotNow("no connection to the gateway")


def test_without_a_secret_nothing_is_signed(monkeypatch: pytest.MonkeyPatch) -> None:
    sent: dict[str, Any] = {}

    def post(self: Any, url: str, **given: Any) -> Any:
        sent.update(given, url=url)
        return type("Answer", (), {"status_code": 202, "headers": {}})()

    monkeypatch.setattr("requests.Session.post", post)
    HttpGateway("http://gateway/v1").submit(MESSAGE, NOW)
    assert sent["url"] == "http://gateway/v1/messages"
    assert sent["headers"] == {"Content-Type": "application/json", "Idempotency-Key": '"m1"'}
    assert json.loads(sent["data"]) == {
        "id": "m1", "from": "777", "to": "+10005550100", "text": "Valve open 20 min. नमस्ते"
    }  # fmt: skip


def test_the_recorded_gateway_keeps_the_same_promises() -> None:
    gateway = RecordedGateway()
    gateway.will_answer([Unknown("?")])
    assert gateway.submit(MESSAGE, NOW) == Unknown("?")
    assert gateway.submit(MESSAGE, NOW) == gateway.submit(MESSAGE, NOW) == Accepted()
    assert gateway.delivered == [MESSAGE]
    assert len(gateway.submitted) == 3
    unsure = RecordedGateway(repeatable=False)
    unsure.submit(MESSAGE, NOW)
    unsure.submit(MESSAGE, NOW)
    assert len(unsure.delivered) == 2


def test_proxies_and_certificates_of_the_environment_hold(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HTTPS_PROXY", "http://proxy.example:3128")
    monkeypatch.setenv("NO_PROXY", "inside.example")
    monkeypatch.setenv("REQUESTS_CA_BUNDLE", "/etc/own-ca.pem")
    outside = HttpGateway("https://gateway.example")._session()
    inside = HttpGateway("https://inside.example")._session()
    assert outside.proxies["https"] == "http://proxy.example:3128"
    assert "https" not in inside.proxies
    assert outside.verify == inside.verify == "/etc/own-ca.pem"
    assert outside.trust_env is False
