"""A server that is killed and started again, and a conversation that goes on."""

from __future__ import annotations

import contextlib
import json
import signal
import socket
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import requests

from service.gateways import signed_headers


class Gateway:
    """A gateway with one phone; it counts steps and repeats one that failed."""

    def __init__(self, url: str, session: str = "call-1", number: str = "+10005550100") -> None:
        self.url, self.session, self.number, self.step = url, session, number, -1

    def send(self, text: str = "", *, step: int | None = None) -> Any:
        step = self.step if step is None else step
        phase = "begin" if step == 0 else "continue"
        body = {
            "session": self.session,
            "step": step,
            "from": self.number,
            "service_code": "*100#",
            "input": text,
            "phase": phase,
        }
        return requests.post(f"{self.url}/gateway/ussd", json=body, timeout=20)

    def say(self, text: str = "") -> str:
        self.step += 1
        answer = self.send(text)
        assert answer.status_code == 200, answer.text
        screen: str = answer.json()["text"]
        return screen

    def to_the_plan(self) -> str:
        """From the first screen to the first question of the plan."""
        screen = self.say()
        for _ in range(8):
            if "Plan a drip plot" in screen:
                break
            screen = self.say("1" if "\n1 " in screen else "aru")
        return self.say("Plan a drip plot")


def test_a_killed_server_goes_on_with_the_same_conversation(make_server: Any) -> None:
    server = make_server()
    gateway = Gateway(server.url)
    assert "How long is the plot?" in gateway.to_the_plan()
    assert "How wide is the plot?" in gateway.say("20")
    server.end(signal.SIGKILL)
    server.start()
    repeated = gateway.send("20").json()
    assert "How wide is the plot?" in repeated["text"]
    assert "Which crop?" in gateway.say("20")
    assert "weeks" in gateway.say("tomato")


def test_a_kill_amid_many_calls_loses_no_answer_that_was_given(make_server: Any) -> None:
    """Every screen that a caller has seen is still theirs after the server comes back."""
    server = make_server()
    gateways = [Gateway(server.url, f"call-{place}", f"+1000555{place:04d}") for place in range(12)]
    seen: dict[int, str] = {}

    def talk(place: int) -> None:
        gateway = gateways[place]
        try:
            seen[place] = gateway.to_the_plan()
            for _ in range(200):
                gateway.step += 1
                answer = gateway.send("**" if gateway.step % 2 else "1")
                assert answer.status_code == 200
                seen[place] = answer.json()["text"]
        except requests.RequestException:
            # The step on the way when the server died: the gateway will repeat it.
            gateway.step -= 1

    with ThreadPoolExecutor(len(gateways)) as pool:
        for place in range(len(gateways)):
            pool.submit(talk, place)
        deadline = time.monotonic() + 20
        while len(seen) < len(gateways) and time.monotonic() < deadline:
            time.sleep(0.02)
        time.sleep(0.3)
        server.end(signal.SIGKILL)
    server.start()
    assert len(seen) == len(gateways)
    for place, gateway in enumerate(gateways):
        text = "**" if gateway.step % 2 else "1"
        kept = gateway.send(text)
        # The step after the last one seen may have been kept too, its reply lost on the way.
        if kept.status_code == 409:
            assert "lies before the last one" in kept.json()["error"]
            gateway.step += 1
            kept = gateway.send("**" if gateway.step % 2 else "1")
        else:
            assert kept.json()["text"] == seen[place]
        assert kept.status_code == 200
        assert gateway.say("**")


def test_the_server_stops_when_told_and_has_told_where_it_is(make_server: Any) -> None:
    server = make_server(WORKERS="1")
    printed = server.end(signal.SIGTERM)
    assert f"Handset page:    {server.url}/" in printed
    assert "curl -s" in printed
    assert "Traceback" not in printed


def test_a_page_is_served_beside_silent_connections(make_server: Any) -> None:
    """Browsers open connections ahead of need and say nothing on them."""
    server = make_server(WORKERS="1")
    idle = [socket.create_connection(("127.0.0.1", server.port)) for _ in range(3)]
    started = time.monotonic()
    page = requests.get(server.url, timeout=10)
    assert page.status_code == 200
    assert "Litreline" in page.text
    assert time.monotonic() - started < 5
    for connection in idle:
        connection.close()


def test_a_gateway_with_the_secret_is_answered_and_no_other(make_server: Any) -> None:
    server = make_server(GATEWAY_SECRET="a shared secret", THREADS="1", WORKERS="1")
    body = b'{"session":"s1","step":0,"from":"+10005550100","phase":"begin"}'
    address = f"{server.url}/gateway/ussd"
    assert requests.post(address, data=body, timeout=10).status_code == 401
    headers = signed_headers("a shared secret", body, datetime.now(UTC))
    answer = requests.post(address, data=body, headers=headers, timeout=10)
    assert answer.status_code == 200
    assert answer.json()["more"] is True


def test_an_open_address_without_a_secret_is_not_served(litreline: Any) -> None:
    refused = litreline("serve", LISTEN="0.0.0.0:0")
    assert refused.returncode == 2
    assert "LITRELINE_GATEWAY_SECRET" in refused.stderr
    assert "Traceback" not in refused.stderr


def test_a_conversation_by_standard_input(litreline: Any) -> None:
    answers = "1\n" + "aru\n1\n" + "1\n20\n20\ntomato\n3\n500\n2.5\n"
    talked = litreline("talk", given=answers)
    assert talked.returncode == 0
    assert "How long is the plot?" in talked.stdout
    assert "Traceback" not in talked.stderr
    counts = [line for line in talked.stdout.splitlines() if line.startswith("[")]
    assert len(counts) == talked.stdout.count("\n> ") + 1
    again = litreline("talk", given="1\n")
    assert "Go on where you stopped" in again.stdout


def test_a_reader_that_goes_away_is_no_error(start: Any) -> None:
    card = Path(__file__).parents[2] / "docs" / "examples" / "card.json"
    process = start("plan", "-")
    process.stdout.close()
    with contextlib.suppress(BrokenPipeError):
        process.stdin.write(f"{json.dumps(json.loads(card.read_text()))}\n" * 3)
        process.stdin.close()
    assert process.wait(timeout=30) == 0
    assert "Traceback" not in process.stderr.read()
    process.stderr.close()


@pytest.mark.parametrize("command", ["--help", "plan --help", "serve --help"])
def test_help_is_quick(litreline: Any, command: str) -> None:
    started = time.monotonic()
    assert litreline(*command.split()).returncode == 0
    assert time.monotonic() - started < 10
