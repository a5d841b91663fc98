"""The stand-in network: its gateway, its phones, its faults."""

from __future__ import annotations

import json
import threading
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest
import requests

from service.gateways.signing import check_signature
from service.gateways.standin import Faults, network_server
from service.gateways.standin.faults import Dice


class Recorder(BaseHTTPRequestHandler):
    """A service that writes down what it is sent, and fails the first time it is told to."""

    seen: list[tuple[str, dict[str, Any]]]
    failures: list[int]

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        check_signature(["hush"], dict(self.headers.items()), body, datetime.now(UTC))
        code = self.failures.pop() if self.failures else 200
        self.seen.append((self.path, json.loads(body)))
        raw = json.dumps({"text": "How long?", "more": True, "id": "x"}).encode()
        self.send_response(code)
        self.send_header("Content-Length", str(len(raw)))
        self.end_headers()
        self.wfile.write(raw)

    def log_message(self, *_: Any) -> None:
        pass


@pytest.fixture
def service() -> Iterator[Any]:
    handler = type("Handler", (Recorder,), {"seen": [], "failures": []})
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    server.daemon_threads = True
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    handler.url = f"http://127.0.0.1:{server.server_port}"
    yield handler
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture
def network(service: Any) -> Iterator[Any]:
    server = network_server(service.url, clock=lambda: datetime.now(UTC), secret="hush")
    server.start()
    yield server
    server.stop()


def test_a_phone_dials_answers_and_hangs_up(network: Any, service: Any) -> None:
    number = "+10005550100"
    base = f"{network.url}/phones/{number}"
    assert requests.post(f"{base}/dial", timeout=5).json()["text"] == "How long?"
    assert requests.post(f"{base}/answer", json={"text": "20"}, timeout=5).json()["more"]
    requests.post(f"{base}/hang-up", timeout=5)
    steps = [(body["step"], body["phase"], body["input"]) for _, body in service.seen]
    assert steps == [(0, "begin", ""), (1, "continue", "20"), (1, "abort", "")]
    assert {body["session"] for _, body in service.seen} == {service.seen[0][1]["session"]}
    assert {body["from"] for _, body in service.seen} == {number}


def test_a_phone_sends_texts_each_under_its_own_id(network: Any, service: Any) -> None:
    for text in ("20", "20"):
        requests.post(
            f"{network.url}/phones/%2B10005550100/sms", json={"text": text}, timeout=5
        ).raise_for_status()
    ids = [body["id"] for path, body in service.seen]
    assert len(set(ids)) == 2
    assert {body["from"] for _, body in service.seen} == {"+10005550100"}


def test_a_phone_rings_once(network: Any, service: Any) -> None:
    number = "+10005550100"
    call_id = network.phones.ring(number)
    answer = requests.post(f"{network.url}/phones/%2B10005550100/ring", timeout=5)
    assert answer.status_code == 200
    (path, rung), (_, again) = service.seen
    assert path == "/gateway/calls"
    assert (rung["id"], rung["from"], rung["to"]) == (call_id, number, "12345")
    assert again["id"] == answer.json()["id"] != call_id
    assert datetime.fromisoformat(rung["at"]).utcoffset() is not None


def test_what_the_service_did_not_answer_is_repeated_under_the_same_id(
    network: Any, service: Any
) -> None:
    service.failures.append(500)
    network.phones.text("+10005550100", "20")
    first, second = service.seen
    assert first == second


def test_a_duplicate_is_the_same_message_twice(service: Any) -> None:
    server = network_server(
        service.url, clock=lambda: datetime.now(UTC), secret="hush", faults=Faults(duplicate=1.0)
    )
    server.start()
    server.phones.text("+10005550100", "20")
    server.stop()
    first, second = service.seen
    assert first == second


@pytest.mark.parametrize(
    ("path", "body", "code"),
    [
        ("/messages", b"{}", 401),
        ("/nowhere", b"{}", 404),
        ("/phones/x/sms", b"{", 400),
        ("/phones/x/sms", b"x" * 70_000, 413),
    ],
)
def test_what_it_refuses(network: Any, path: str, body: bytes, code: int) -> None:
    assert requests.post(network.url + path, data=body, timeout=5).status_code == code
    assert requests.get(f"{network.url}/nowhere", timeout=5).status_code == 404


def test_counts_and_inboxes_can_be_asked(network: Any) -> None:
    assert requests.get(f"{network.url}/counts", timeout=5).json()["most_deliveries"] == 0
    assert requests.get(f"{network.url}/phones/+1", timeout=5).json() == {"texts": []}


def test_faults_come_at_their_rates_and_again_with_the_same_seed() -> None:
    faults = Faults(loss=0.1, error_503=0.2, timeout_after_delivery=0.3, seed=7)
    thrown = [Dice(faults).fate() for _ in range(1)]
    dice, again = Dice(faults), Dice(faults)
    fates = [dice.fate() for _ in range(4000)]
    assert fates == [again.fate() for _ in range(4000)]
    assert thrown == fates[:1]
    counts = Counter(fates)
    assert counts["lost"] == pytest.approx(400, rel=0.2)
    assert counts["503"] == pytest.approx(800, rel=0.2)
    assert counts["silent"] == pytest.approx(1200, rel=0.2)
