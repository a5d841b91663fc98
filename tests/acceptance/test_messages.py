"""Five thousand texts over a bad network, with the service and the sender killed on the way."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from itertools import groupby
from pathlib import Path
from typing import Any

import pytest

from service.gateways.standin import Faults, network_server

PHONES, EACH = 250, 20
SAID = ("1", "hello", "**")
"""With a way back each time: what is never understood is not answered for ever."""
FAULTS = Faults(loss=0.02, error_503=0.02, timeout_after_delivery=0.01, duplicate=0.01, seed=16)
"""Five of a hundred requests of the sender go wrong, and one of a hundred texts comes twice."""
SECRET = "a secret for the network"
PATIENCE_S = 80
SETTINGS = {
    "GATEWAY_SECRET": SECRET,
    "GATEWAY_RATE": "10000",
    "RETRY_SECONDS": "0.2,0.5,1",
    "LEASE_SECONDS": "8",
    "SEND": "no",
    "WORKERS": "1",
}


class Office:
    """The service, one sender beside it, and the network that counts."""

    def __init__(self, folder: Path, new_server: Any, command: list[str]) -> None:
        self.folder, self.command = folder, command
        self.server = new_server(folder, **SETTINGS)
        self.network = network_server(
            self.server.url,
            clock=lambda: datetime.now(UTC),
            secret=SECRET,
            faults=FAULTS,
        )
        self.network.start()
        self.server.settings["GATEWAY_URL"] = self.network.url
        self.sender: subprocess.Popen[bytes] | None = None

    def start_sender(self) -> None:
        settings = {**SETTINGS, "GATEWAY_URL": self.network.url, "DATA_DIR": str(self.folder)}
        environ = {**os.environ, **{f"LITRELINE_{name}": one for name, one in settings.items()}}
        self.sender = subprocess.Popen([*self.command, "send"], env=environ, start_new_session=True)

    def kill_sender(self) -> None:
        assert self.sender is not None
        os.killpg(self.sender.pid, signal.SIGKILL)
        self.sender.wait()

    def close(self) -> None:
        if self.sender is not None and self.sender.poll() is None:
            self.kill_sender()
        if self.server.process is not None:
            self.server.end(signal.SIGKILL)
        self.network.stop()

    @property
    def keys(self) -> int:
        keys: int = self.network.network.summary()["keys"]
        return keys

    def written(self) -> list[tuple[str, str]]:
        """Number and text of every message in the outbox, in the order in which they were put."""
        with sqlite3.connect(self.folder / "litreline.sqlite3") as database:
            return database.execute(
                "SELECT number, text FROM outbox JOIN phone ON phone.id = phone_id"
                " ORDER BY number, not_before, outbox.created_at"
            ).fetchall()

    def states(self) -> set[tuple[str, int]]:
        with sqlite3.connect(self.folder / "litreline.sqlite3") as database:
            return set(database.execute("SELECT state, open FROM outbox").fetchall())


@pytest.fixture
def office(tmp_path: Path, new_server: Any, command: list[str]) -> Iterator[Office]:
    made = Office(tmp_path / "data", new_server, command)
    yield made
    made.close()


def wait_for(check: Callable[[], bool], what: str) -> None:
    deadline = time.monotonic() + PATIENCE_S
    while not check():
        if time.monotonic() > deadline:
            pytest.fail(f"{what} did not come about")
        time.sleep(0.05)


def test_nothing_is_lost_and_nothing_comes_twice(office: Office) -> None:
    office.server.start()
    office.start_sender()
    sent, lock = [0], threading.Lock()

    def speak(place: int) -> None:
        """One phone: each text goes off once the one before was taken."""
        for turn in range(EACH):
            office.network.phones.text(f"+1000555{place:04d}", SAID[turn % len(SAID)])
            with lock:
                sent[0] += 1

    with ThreadPoolExecutor(8) as pool:
        spoken = [pool.submit(speak, place) for place in range(PHONES)]
        kills: list[Callable[[], Any]] = [
            lambda: office.server.end(signal.SIGKILL),
            office.kill_sender,
            lambda: (office.server.end(signal.SIGKILL), office.kill_sender()),
        ]
        for place, kill in enumerate(kills, start=1):
            wait_for(lambda place=place: sent[0] > PHONES * EACH * place // 4, "the next kill")  # type: ignore[misc]
            kill()
            if office.server.process is None:
                office.server.start()
            if office.sender is not None and office.sender.poll() is not None:
                office.start_sender()
        for one in spoken:
            one.result(timeout=PATIENCE_S)
    total = PHONES * EACH
    wait_for(lambda: office.keys >= total, f"all replies ({office.keys} of {total})")
    settled = {("accepted", 0), ("delivered", 0)}
    wait_for(lambda: office.states() <= settled, f"a settled outbox: {office.states()}")
    summary = office.network.network.summary()
    assert summary["keys"] == summary["delivered"] == total
    assert summary["most_deliveries"] == 1
    assert all(summary[fault] > 0 for fault in ("lost", "503", "silent", "again"))
    rows = groupby(office.written(), key=lambda row: row[0])
    written = {number: [text for _, text in own] for number, own in rows}
    assert len(written) == PHONES
    for number, texts in written.items():
        assert len(texts) == EACH
        assert office.network.network.inbox(number) == texts
