"""A text in, its reply out over real HTTP, its receipt back: the parts of the service together."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from threading import Event
from typing import Any

import pytest

from service.channels import IncomingText
from service.gateways import signed_headers
from service.gateways.standin import network_server
from service.settings import SettingError, Settings
from service.wiring.app import create_app
from service.wiring.build import Service, build
from service.wiring.sending import make_loop, start_sender

NUMBER = "+10005550100"


def now() -> datetime:
    return datetime.now(UTC)


@pytest.fixture
def network() -> Iterator[Any]:
    server = network_server("http://127.0.0.1:9", clock=now, secret="hush", receipts=False)
    server.start()
    yield server
    server.stop()


@pytest.fixture
def settings(make_settings: Callable[..., Settings], network: Any) -> Settings:
    return make_settings(GATEWAY_URL=network.url, GATEWAY_SECRET="hush", RETRY_SECONDS="0.05")


@pytest.fixture
def service(settings: Settings) -> Iterator[Service]:
    made = build(settings)
    made.database.migrate()
    yield made
    made.database.close()


def text(service: Service, words: str, message_id: str = "m1") -> None:
    service.texts.take(IncomingText("http", message_id, NUMBER, "12345", words), now())


def wait_for(check: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 10
    while not check():
        assert time.monotonic() < deadline
        time.sleep(0.02)


def test_a_text_is_answered_over_the_gateway_and_its_receipt_is_kept(
    settings: Settings, service: Service, network: Any
) -> None:
    wake = Event()
    client = create_app(settings, service, wake).test_client()
    body = b'{"id":"m1","from":"+10005550100","to":"12345","text":"hello"}'
    headers = signed_headers("hush", body, now())
    assert client.post("/gateway/sms", data=body, headers=headers).status_code == 202
    assert wake.is_set()
    end = start_sender(settings, service, wake)
    wait_for(lambda: bool(network.network.inbox(NUMBER)))
    end()
    (told,) = network.network.inbox(NUMBER)
    assert told.startswith("Litreline: water for drip plots.")
    (message_id,) = network.network.deliveries
    receipt = f'{{"id":"{message_id}","state":"delivered","at":"2026-07-01T09:30:00Z"}}'.encode()
    headers = signed_headers("hush", receipt, now())
    answer = client.post("/gateway/receipts", data=receipt, headers=headers)
    assert answer.json == {"id": message_id, "known": True}
    with service.database.unit_of_work() as work:
        assert work.outbox.counts() == {"delivered": 1}


def test_two_senders_share_one_outbox(settings: Settings, service: Service, network: Any) -> None:
    for place in range(30):
        number = f"+1000555{place:04d}"
        incoming = IncomingText("http", f"m{place}", number, "1", "hi")
        service.texts.take(incoming, now())
    ends = [start_sender(settings, service, Event()) for _ in range(2)]
    wait_for(lambda: network.network.summary()["keys"] == 30)
    for end in ends:
        end()
    assert network.network.summary()["requests"] == 30


def test_without_a_gateway_there_is_no_sender(make_settings: Any, service: Service) -> None:
    with pytest.raises(SettingError, match="LITRELINE_GATEWAY_URL"):
        make_loop(make_settings(), service, Event(), Event())


def test_a_refused_signature_is_logged_once_and_without_numbers(
    settings: Settings, service: Service, caplog: pytest.LogCaptureFixture
) -> None:
    text(service, "hello")
    wrong = replace(settings, gateway_secret="other")
    loop = make_loop(wrong, service, Event(), Event())
    for _ in range(3):
        loop.step()
        time.sleep(0.06)
    assert caplog.text.count("the gateway takes nothing from us") == 1
    assert "5550100" not in caplog.text


def test_a_database_that_fails_is_tried_again(
    settings: Settings, service: Service, caplog: pytest.LogCaptureFixture, monkeypatch: Any
) -> None:
    monkeypatch.setattr("service.wiring.sending.FAULT_WAIT_S", 0.01)
    caplog.set_level(logging.ERROR)
    with service.database.engine.begin() as connection:
        connection.exec_driver_sql("ALTER TABLE outbox RENAME TO hidden")
    end = start_sender(settings, service, Event())
    wait_for(lambda: caplog.text.count("sending failed, trying again: OperationalError") > 1)
    end()


def test_a_long_text_whose_part_never_came_is_answered(
    settings: Settings, service: Service
) -> None:
    part = IncomingText("http", "m1", NUMBER, "12345", "hello", reference=1, part=1, parts=2)
    service.texts.take(part, now().replace(year=2020))
    make_loop(settings, service, Event(), Event()).step()
    with service.database.unit_of_work() as work:
        assert sum(work.outbox.counts().values()) == 1
