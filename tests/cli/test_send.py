"""The commands around the outbox, and the stand-in network as a phone in the terminal."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest

from service.channels import IncomingText
from service.cli import network as network_command
from service.gateways.standin import network_server
from service.settings import read_settings
from service.wiring.build import build


@pytest.fixture
def network(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    server = network_server("http://127.0.0.1:9", clock=lambda: datetime.now(UTC), receipts=False)
    server.start()
    monkeypatch.setenv("LITRELINE_GATEWAY_URL", server.url)
    yield server
    server.stop()


def text(data_dir: Any, words: str = "hello") -> None:
    service = build(read_settings({"LITRELINE_DATA_DIR": str(data_dir)}))
    service.database.migrate()
    now = datetime.now(UTC)
    service.texts.take(IncomingText("http", "m1", "+10005550100", "12345", words), now)
    service.database.close()


def test_once_sends_what_is_due(run: Any, data_dir: Any, network: Any) -> None:
    text(data_dir)
    assert run("send", "--once").code == 0
    assert len(network.network.inbox("+10005550100")) == 1
    assert run("send", "--list").out == "accepted: 1\n"


def test_what_was_given_up_is_told_with_a_masked_number(
    run: Any, data_dir: Any, network: Any, monkeypatch: Any
) -> None:
    text(data_dir)
    refusal = network_command_refusal()
    monkeypatch.setattr("service.gateways.outbound.answered", lambda *_: refusal)
    run("send", "--once")
    told = run("send", "--list").out
    assert "failed: 1\n" in told
    assert "failed answer to +1 0** *** 100: 400: no" in told
    assert "5550100" not in told


def network_command_refusal() -> Any:
    from service.channels import Refused

    return Refused("400: no")


def test_an_empty_outbox_says_so(run: Any) -> None:
    run("migrate")
    assert run("send", "--list").out == "the outbox is empty\n"


def test_without_a_gateway_it_says_what_to_set(run: Any) -> None:
    sent = run("send", "--once")
    assert sent.code == 2
    assert "LITRELINE_GATEWAY_URL" in sent.err


class Phones:
    def __init__(self) -> None:
        self.calls: dict[str, Any] = {}
        self.did: list[Any] = []

    def dial(self, number: str, code: str) -> Any:
        self.calls[number] = code
        self.did.append(("dial", number, code))
        return {"text": "How long?", "more": True}

    def answer(self, number: str, said: str) -> Any:
        self.did.append(("answer", number, said))
        return {"text": "How wide?", "more": True}

    def text(self, number: str, said: str) -> str:
        self.did.append(("sms", number, said))
        return "x1"

    def hang_up(self, number: str) -> None:
        self.did.append(("hang", number))
        self.calls.pop(number, None)


def test_a_phone_in_the_terminal(monkeypatch: Any, capsys: Any) -> None:
    lines = iter(["dial *99#", "20", "hang", "20", "phone +2", "sms my tank", "quit"])
    monkeypatch.setattr("builtins.input", lambda _: next(lines))
    phones = Phones()
    network_command._play(phones, "+1")  # type: ignore[arg-type]
    assert phones.did == [
        ("dial", "+1", "*99#"),
        ("answer", "+1", "20"),
        ("hang", "+1"),
        ("sms", "+2", "my tank"),
    ]
    told = capsys.readouterr().out
    assert "How long?\nHow wide?\nhung up\n" in told


@pytest.mark.parametrize(
    "arguments", [("--loss", "1.5"), ("--loss", "much"), ("--listen", "0.0.0.0:9100")]
)
def test_what_the_network_refuses(run: Any, arguments: tuple[str, str]) -> None:
    refused = run("network", *arguments)
    assert refused.code == 2
    assert refused.err
