"""A full turn over HTTP against the least that any service could do, under the same server.

Three services in gunicorn with sync workers, one after the other, for one worker and two:

ok       a bare Flask view that answers "ok" as JSON
writes   a bare Flask view that reads and writes the rows of a turn with sqlite3 itself
turn     `litreline serve`: read, dialogue, words, rows, reply

All on a SQLite file of their own with the same durability (WAL, synchronous FULL). The turns are
those of the plan conversation up to its result. Then the service alone at a steady 200 turns a
second, for the spread of its answers.

    .venv/bin/python tests/benchmarks/bench_turn.py
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

SERVICE = [sys.executable, "-c", "import sys; from service.cli import main; sys.exit(main())"]
ROUND = 9
"""Turns of one call: dialled, asked, answered seven times, back at the main menu."""
CALLERS, CLIENTS, WARM = 240, 4, 400

BARE = """
import json, os, sqlite3, sys
from flask import Flask, jsonify, request

app = Flask("bare")
PATH, MODE = os.environ["BENCH_DB"], os.environ["BENCH_MODE"]
connection = None

def opened():
    global connection
    if connection is None:
        connection = sqlite3.connect(PATH, timeout=5, isolation_level=None)
        for pragma in ("busy_timeout=5000", "journal_mode=WAL", "synchronous=FULL"):
            connection.execute("PRAGMA " + pragma)
    return connection

@app.post("/gateway/ussd")
def turn():
    body = request.get_json()
    if MODE == "ok":
        return jsonify(text="ok", more=True)
    database = opened()
    row = database.execute(
        "SELECT session.id, plot.id, * FROM phone LEFT JOIN session ON session.phone_id = phone.id"
        " AND session.channel = ? AND (session.gateway_session = ? OR session.open)"
        " LEFT JOIN plot ON plot.phone_id = phone.id AND plot.current WHERE phone.number = ?",
        ("ussd", body["session"], body["from"])).fetchone()
    database.execute("BEGIN IMMEDIATE")
    if body["step"] == 0:
        database.execute("UPDATE session SET open = 0 WHERE id = ?", (row[0],))
        database.execute(
            "INSERT INTO session SELECT ?, phone_id, plot_id, channel, ?, flow, flow_version,"
            " state,"
            " ?, ?, language, 0, 0, '[]', owner, 1, 0, 0, 0, last_body_hash, ?, 1, ?"
            " FROM session WHERE id = ?",
            (os.urandom(16).hex(), body["session"], HISTORY, ANSWERS, REPLY, NOW, row[0]))
        database.execute("COMMIT")
        return jsonify(text=REPLY, more=True)
    database.execute(
        "UPDATE session SET answers = ?, history = ?, last_reply = ?, last_step = ?, "
        "revision = revision + 1, updated_at = ? WHERE id = ?",
        (ANSWERS, HISTORY, REPLY, body["step"], NOW, row[0]))
    # Six of the nine turns of a call change what is known of the plot.
    if 2 <= body["step"] < 8:
        database.execute("UPDATE plot SET answers = ?, revision = revision + 1 WHERE id = ?",
                         (ANSWERS, row[1]))
    database.execute("COMMIT")
    return jsonify(text=REPLY, more=True)

ANSWERS = json.dumps({"language": "en", "district": "velmora", "plot_length_m": 20,
    "plot_width_m": 15, "crop": "tomato", "weeks_since_planting": 3, "tank_volume_l": 500})
HISTORY = json.dumps([["start", "menu"]] + [["plan", "length"]] * 4)
NOW = "2026-07-01T09:30:00.000000+00:00"
REPLY = "How high is the foot of the tank above the ground, in metres? Knee 0.5, waist 1, head 1.7"
"""


class Caller:
    """One phone in one call: what it says next, as a whole HTTP request."""

    def __init__(self, place: int) -> None:
        self.number, self.session = f"+1000{place:07d}", f"bench-{place}"
        self.step, self.next = -1, 0
        self.run = os.urandom(4).hex()

    def request(self, text: str, *, begin: bool = False) -> bytes:
        self.step += 1
        body = json.dumps(
            {
                "session": self.session,
                "step": self.step,
                "from": self.number,
                "service_code": "*100#",
                "input": text,
                "phase": "begin" if begin else "continue",
            }
        ).encode()
        head = (
            "POST /gateway/ussd HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
            f"Content-Length: {len(body)}\r\nConnection: close\r\n\r\n"
        )
        return head.encode() + body

    def turn(self) -> bytes:
        call, turn = divmod(self.next, ROUND)
        self.next += 1
        if turn == 0:
            self.session, self.step = f"{self.run}-{self.number}-{call}", -1
            return self.request("", begin=True)
        return self.request(answers(call)[turn - 1])


def answers(round_: int) -> tuple[str, ...]:
    """One round through the plan; the values change each time, so that the plot is written."""
    crop = "tomato" if round_ % 2 else "onion"
    size = 20 + round_ % 7
    return (
        "1", str(size), str(size - 5), crop, str(round_ % 9),
        str(400 + size), f"1.{size % 10}", "**",
    )  # fmt: skip


def exchange(port: int, request: bytes) -> bytes:
    """One request on a connection of its own, as sync workers take them."""
    with socket.create_connection(("127.0.0.1", port)) as connection:
        connection.sendall(request)
        answer = b""
        while part := connection.recv(65536):
            answer += part
    if b" 200 OK" not in answer[:20]:
        raise SystemExit(f"not answered: {answer[:400]!r}")
    return answer


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


class Service:
    """A server process, started on a fresh copy of the same database."""

    def __init__(self, kind: str, workers: int, folder: Path) -> None:
        self.port = free_port()
        environ = {
            **os.environ,
            "LITRELINE_DATA_DIR": str(folder),
            "LITRELINE_LISTEN": f"127.0.0.1:{self.port}",
            "LITRELINE_WORKERS": str(workers),
            "LITRELINE_THREADS": "1",
            "BENCH_DB": str(folder / "litreline.sqlite3"),
            "BENCH_MODE": kind,
            "PYTHONPATH": os.pathsep.join([str(folder), os.environ.get("PYTHONPATH", "")]),
        }
        (folder / "bare.py").write_text(BARE)
        gunicorn = [sys.executable, "-m", "gunicorn", "bare:app", "-b", f"127.0.0.1:{self.port}",
                    "-w", str(workers), "--log-level", "error"]  # fmt: skip
        command = [*SERVICE, "serve"] if kind == "turn" else gunicorn
        self.process = subprocess.Popen(
            command, env=environ, stdout=subprocess.DEVNULL, start_new_session=True
        )
        for _ in range(200):
            try:
                socket.create_connection(("127.0.0.1", self.port)).close()
                return
            except OSError:
                time.sleep(0.05)
        raise SystemExit(f"{kind} did not start")

    def end(self) -> None:
        os.killpg(self.process.pid, signal.SIGTERM)
        self.process.wait(10)


def prepared(folder: Path) -> list[Caller]:
    """Callers who stand at the main menu, in a database that they have filled once."""
    service = Service("turn", 1, folder)
    callers = [Caller(place) for place in range(CALLERS)]
    for caller in callers:
        screen = exchange(service.port, caller.request("", begin=True))
        for _ in range(8):
            if b"Plan a drip plot" in screen:
                break
            screen = exchange(service.port, caller.request("1" if b"\\n1 " in screen else "aru"))
        for _ in range(ROUND):
            exchange(service.port, caller.turn())
    service.end()
    with sqlite3.connect(folder / "litreline.sqlite3") as database:
        database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return callers


def driven(port: int, callers: list[Caller], seconds: float) -> float:
    """Turns a second that the server can take from a few clients at once."""
    counts = [0] * CLIENTS
    until = time.perf_counter() + seconds

    def drive(client: int) -> None:
        own = callers[client::CLIENTS]
        while True:
            for caller in own:
                if time.perf_counter() > until:
                    return
                exchange(port, caller.turn())
                counts[client] += 1

    threads = [threading.Thread(target=drive, args=(client,)) for client in range(CLIENTS)]
    started = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sum(counts) / (time.perf_counter() - started)


def steady(port: int, callers: list[Caller], per_second: float, seconds: float) -> list[float]:
    """How long each answer took [ms] when turns come evenly, whatever came before."""
    taken: list[float] = []
    moments = iter(range(int(per_second * seconds)))
    lock, started = threading.Lock(), time.perf_counter()

    def next_turn() -> Iterator[tuple[int, Caller]]:
        while True:
            with lock:
                place = next(moments, None)
            if place is None:
                return
            yield place, callers[place % len(callers)]

    def drive() -> None:
        for place, caller in next_turn():
            due = started + place / per_second
            time.sleep(max(0.0, due - time.perf_counter()))
            exchange(port, caller.turn())
            taken.append(1000 * (time.perf_counter() - due))

    threads = [threading.Thread(target=drive) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(taken)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    parser.add_argument("--seconds", type=float, default=6.0)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        callers = prepared(folder)
        for workers in (1, 2):
            report(folder, callers, workers, given)


def report(folder: Path, callers: list[Caller], workers: int, given: Any) -> None:
    rates: dict[str, list[float]] = {"ok": [], "writes": [], "turn": []}
    for _ in range(given.rounds):
        # In turns, so that whatever else the machine does befalls all alike.
        for kind, found in rates.items():
            service = Service(kind, workers, folder)
            driven(service.port, callers, 0.5)
            found.append(driven(service.port, callers, given.seconds / given.rounds))
            service.end()
    best = {kind: max(found) for kind, found in rates.items()}
    print(f"{workers} sync worker(s), best of {given.rounds}, turns a second:")
    for kind, rate in best.items():
        print(f"  {kind:7} {rate:7.0f}   {' '.join(f'{one:.0f}' for one in rates[kind])}")
    print(f"  turn / ok     {best['turn'] / best['ok']:.2f}   aim 0.40 with one worker")
    print(f"  turn / writes {best['turn'] / best['writes']:.2f}   aim 0.70")
    service = Service("turn", workers, folder)
    driven(service.port, callers, 0.5)
    taken = steady(service.port, callers, 200, 5)
    service.end()
    spread = {share: taken[int(share * (len(taken) - 1))] for share in (0.5, 0.95, 0.99)}
    words = ", ".join(f"p{share * 100:.0f} {value:.1f} ms" for share, value in spread.items())
    print(f"  at 200 turns a second: {words}   aim p99 below 50 ms")


if __name__ == "__main__":
    main()
