"""How fast the sender empties an outbox, against a bare loop of requests to the same network.

Both send the same signed bodies to the same stand-in network in a process of its own, over one
connection and over four. Beside it, what counting the parts of a text costs.

    .venv/bin/python tests/benchmarks/bench_sender.py
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import requests

from service.channels import Letter, Post
from service.gateways import signed_headers
from service.gateways.standin import network_server
from service.records import Phone
from service.settings import read_settings
from service.text.measure import measure
from service.wiring.build import build
from service.wiring.keys import new_id
from service.wiring.sending import make_carrier, make_sender

SECRET, TEXT = "a secret", "Valve open now about 65 min a day: 1.2 x the tank. Full tank: 55 min."
TEXTS = {
    "119 letters, one part": "Open the valve for twenty minutes in the morning and again in the"
    " evening; dig a finger deep and skip a day when it is wet",
    "600 letters, four parts": "Full tank: half a ton. A builder must make the stand. " * 11,
    "108 letters of Hindi": "वाल्व को सुबह बीस मिनट और शाम को बीस मिनट खोलें। मिट्टी उँगली भर"
    " गीली हो तो एक दिन छोड़ दें। टंकी भरें।",
}


def network(ready: Any) -> None:
    """The network, in a process of its own so that it costs neither side anything."""
    server = network_server(
        "http://127.0.0.1:9", clock=lambda: datetime.now(UTC), secret=SECRET, receipts=False
    )
    ready.put(server.url)
    server.serve()


def bare(url: str, count: int, lanes: int) -> float:
    """Messages a second of nothing but signing and posting."""

    def send(lane: int) -> None:
        session = requests.Session()
        for place in range(lane, count, lanes):
            message_id = f"bare-{time.monotonic_ns()}-{place}"
            body = {"id": message_id, "from": "", "to": f"+1000{place:07d}", "text": TEXT}
            raw = json.dumps(body).encode()
            headers = {
                "Content-Type": "application/json",
                "Idempotency-Key": f'"{message_id}"',
                **signed_headers(SECRET, raw, datetime.now(UTC)),
            }
            session.post(
                f"{url}/messages", data=raw, headers=headers, timeout=10
            ).raise_for_status()

    started = time.perf_counter()
    with ThreadPoolExecutor(lanes) as pool:
        list(pool.map(send, range(lanes)))
    return count / (time.perf_counter() - started)


def sender(url: str, count: int, lanes: int, folder: Path) -> float:
    """Messages a second out of an outbox that was filled before."""
    settings = read_settings(
        {
            "LITRELINE_DATA_DIR": str(folder),
            "LITRELINE_GATEWAY_URL": url,
            "LITRELINE_GATEWAY_SECRET": SECRET,
            "LITRELINE_GATEWAY_RATE": "10000",
            "LITRELINE_GATEWAY_LANES": str(lanes),
        }
    )
    service = build(settings)
    service.database.migrate()
    now, post = datetime.now(UTC), Post(new_id)
    with service.database.unit_of_work() as work:
        for _ in range(count):
            phone = Phone(new_id(), f"+1000{time.monotonic_ns()}", "en", now)
            work.phones.add(phone)
            post.put(work, Letter(phone.id, "answer", f"key-{phone.id}", TEXT, "en"), now)
        work.commit()
    mine, handled = make_sender(settings, service, make_carrier(settings, service)), 0
    started = time.perf_counter()
    while handled < count:
        handled += mine.once().handled
    taken = time.perf_counter() - started
    mine.close()
    with service.database.unit_of_work() as work:
        assert set(work.outbox.counts()) == {"accepted"}
    service.database.close()
    return count / taken


def counted(text: str) -> float:
    """Microseconds for counting one text."""
    started = time.perf_counter()
    for _ in range(2000):
        measure(text)
    return 1e6 * (time.perf_counter() - started) / 2000


def compared(what: str, runs: dict[str, Callable[[], float]], rounds: int) -> None:
    found: dict[str, list[float]] = {name: [] for name in runs}
    for _ in range(rounds):
        # In turns, so that whatever else the machine does befalls both alike.
        for name, run in runs.items():
            found[name].append(run())
    best = {name: max(rates) for name, rates in found.items()}
    print(f"{what}, messages a second, best of {rounds}:")
    for name, rates in found.items():
        print(f"  {name:15} {best[name]:6.0f}   {' '.join(f'{rate:.0f}' for rate in rates)}")
    print(f"  sender / bare loop {best['sender'] / best['bare loop']:.2f}   aim 0.90")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    parser.add_argument("--messages", type=int, default=2000)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    for what, text in TEXTS.items():
        print(f"counting {what}: {counted(text):.1f} us")
    ready: Any = multiprocessing.Queue()
    process = multiprocessing.Process(target=network, args=(ready,), daemon=True)
    process.start()
    url, count = ready.get(timeout=10), given.messages
    for lanes in (1, 4):
        with tempfile.TemporaryDirectory() as name:
            runs: dict[str, Callable[[], float]] = {
                "bare loop": lambda lanes=lanes: bare(url, count, lanes),  # type: ignore[misc]
                "sender": lambda lanes=lanes, name=name: sender(url, count, lanes, Path(name)),  # type: ignore[misc]
            }
            compared(f"{lanes} connection(s)", runs, given.rounds)
    process.terminate()


if __name__ == "__main__":
    main()
