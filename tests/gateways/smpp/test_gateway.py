"""The gateway's thread, and its connection under TLS."""

from __future__ import annotations

import shutil
import ssl
import subprocess
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from service.gateways.smpp import Accepted, NotSent, Outgoing, SmppGateway


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory, peers: Any) -> tuple[Path, Path]:
    """A key and a certificate for loopback, made for this run."""
    openssl = shutil.which("openssl")
    if openssl is None:
        peers.missing("no openssl")
    folder = tmp_path_factory.mktemp("tls")
    key, cert = folder / "key.pem", folder / "cert.pem"
    subprocess.run(
        [
            str(openssl), "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256",
            "-nodes", "-days", "2", "-subj", "/CN=centre.test",
            "-addext", "subjectAltName=IP:127.0.0.1,DNS:centre.test",
            "-keyout", str(key), "-out", str(cert),
        ],
        check=True,
        capture_output=True,
        timeout=30,
    )  # fmt: skip
    return key, cert


@pytest.fixture
def secure_node(peers: Any, node_modules: Path, certificate: tuple[Path, Path]) -> Iterator[Any]:
    peer = peers.NodePeer(node_modules, *certificate)
    yield peer
    peer.stop()


def trusting(certificate: tuple[Path, Path]) -> ssl.SSLContext:
    return ssl.create_default_context(cafile=str(certificate[1]))


@pytest.mark.parametrize("name", ["127.0.0.1", "centre.test"])
def test_texts_go_under_tls(
    secure_node: Any, bound: Any, kit: Any, certificate: tuple[Path, Path], name: str
) -> None:
    gateway, told = bound(secure_node.port, tls=trusting(certificate), server_hostname=name)
    assert isinstance(gateway.send(Outgoing("m-1", kit.PHONE, "Flush"), 5.0), Accepted)
    assert secure_node.deliver(short_message="STOP") == 0
    assert told.texts[0].text == "STOP"


def test_a_centre_that_is_not_trusted_gets_nothing(
    secure_node: Any, bound: Any, kit: Any, certificate: tuple[Path, Path]
) -> None:
    for context, name in (
        (ssl.create_default_context(), "127.0.0.1"),
        (trusting(certificate), "other.test"),
    ):
        gateway, _ = bound(secure_node.port, wait=False, tls=context, server_hostname=name)
        result = gateway.send(Outgoing("m-1", kit.PHONE, "Flush"), 0.4)
        assert isinstance(result, NotSent)
        gateway.stop()
    assert secure_node.all("bind") == []


def test_a_plain_port_is_not_spoken_to_in_the_clear(
    node: Any, bound: Any, kit: Any, certificate: tuple[Path, Path]
) -> None:
    gateway, _ = bound(
        node.port, wait=False, tls=trusting(certificate), server_hostname="127.0.0.1"
    )
    assert isinstance(gateway.send(Outgoing("m-1", kit.PHONE, "Flush"), 0.5), NotSent)
    assert node.all("bind") == []


def gateway_to(kit: Any, peers: Any, port: int, **changes: Any) -> SmppGateway:
    options = kit.options(port=port, **changes)
    return SmppGateway(options, kit.Told(), clock=peers.clock, new_id=lambda: "id")


def test_before_its_start_it_sends_nothing(kit: Any, peers: Any) -> None:
    gateway = gateway_to(kit, peers, 9)
    outgoing = Outgoing("m-1", kit.PHONE, "Flush")
    assert gateway.send(outgoing, 1.0) == NotSent("the gateway is not started")
    assert gateway.state == ("down", "not started")
    gateway.stop()


def test_it_starts_once_and_may_start_again_after_a_stop(node: Any, kit: Any, peers: Any) -> None:
    gateway = gateway_to(kit, peers, node.port)
    for number in (1, 2):
        gateway.start()
        with pytest.raises(RuntimeError, match="already started"):
            gateway.start()
        result = gateway.send(Outgoing("m-1", kit.PHONE, "Flush"), 5.0)
        assert isinstance(result, Accepted)
        gateway.stop()
        gateway.stop()
        node.wait("bind", number)


def test_no_thread_is_left_behind(node: Any, kit: Any, peers: Any) -> None:
    before = set(threading.enumerate())
    gateway = gateway_to(kit, peers, node.port)
    gateway.start()
    peers.until(lambda: gateway.state.standing == "bound")
    assert node.deliver(short_message="2") == 0
    gateway.stop()
    assert set(threading.enumerate()) <= before


def test_a_stop_while_it_connects_is_quick(kit: Any, peers: Any) -> None:
    """Nothing takes the connection: a port that is bound and does not listen."""
    import socket

    with socket.socket() as closed:
        closed.bind(("127.0.0.1", 0))
        gateway = gateway_to(kit, peers, closed.getsockname()[1])
        gateway.start()
        peers.until(lambda: gateway.state.reason.startswith("no connection: "))
        began = time.monotonic()
        gateway.stop()
        assert time.monotonic() - began < 5.0


def test_an_engine_that_does_not_come_up_hangs_nobody(
    kit: Any, peers: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise OSError("no room")

    monkeypatch.setattr("service.gateways.smpp.gateway.Engine", broken)
    monkeypatch.setattr(threading, "excepthook", lambda _: None)
    gateway = gateway_to(kit, peers, 9)
    gateway.start()
    result = gateway.send(Outgoing("m-1", kit.PHONE, "Flush"), 1.0)
    assert isinstance(result, NotSent)
    gateway.stop()


def test_many_threads_may_send(node: Any, bound: Any, kit: Any) -> None:
    gateway, _ = bound(node.port)
    results: list[object] = []

    def send(first: int) -> None:
        for n in range(first, first + 20):
            results.append(gateway.send(Outgoing(f"m-{n}", kit.PHONE, f"text {n}"), 10.0))

    threads = [threading.Thread(target=send, args=(20 * n,)) for n in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    ids = {one.message_ids for one in results if isinstance(one, Accepted)}
    assert len(ids) == 100
    node.wait("submit", 100)
    assert len({one["text"] for one in node.all("submit")}) == 100


def test_whoever_watches_is_told_of_every_change(node: Any, kit: Any, peers: Any) -> None:
    seen: list[str] = []
    gateway = SmppGateway(
        kit.options(port=node.port),
        kit.Told(),
        clock=peers.clock,
        new_id=lambda: "id",
        watch=lambda state: seen.append(state.standing),
    )
    gateway.start()
    peers.until(lambda: gateway.state.standing == "bound")
    gateway.stop()
    assert seen == ["connecting", "bound", "down"]
