"""Message centres that we did not write, on loopback, told what to do by the tests.

npm `smpp` 0.5.1 runs in node (see peer.js); it is installed once into pytest's cache, at the
versions and hashes of package-lock.json. PyPI `smpp34` 1.5.0 runs in a thread.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import os
import queue
import shutil
import socket
import subprocess
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import smpp34

HERE = Path(__file__).parent
WAIT_S = 15.0


def missing(what: str) -> None:
    """Fail where every check must run, and leave a loud word anywhere else."""
    if os.environ.get("CI"):
        pytest.fail(f"{what}: the SMPP peer cannot run, and CI is set")
    pytest.skip(f"{what}: NOT TESTED against npm smpp; install Node.js and npm")


def node_modules(cache: Path) -> Path:
    """Return the installed modules, installing them unless an earlier run did."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        missing("no node or npm")
        raise AssertionError
    lock = (HERE / "package-lock.json").read_bytes()
    home = cache / hashlib.sha256(lock).hexdigest()[:16]
    if not home.exists():
        # Another worker may do the same: whoever is first puts the folder in its place.
        work = cache / f"install-{os.getpid()}"
        shutil.rmtree(work, ignore_errors=True)
        work.mkdir(parents=True)
        for name in ("package.json", "package-lock.json"):
            shutil.copy(HERE / name, work)
        command = [npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund"]
        done = subprocess.run(command, cwd=work, capture_output=True, text=True, timeout=120)
        if done.returncode:
            missing(f"npm ci failed: {done.stderr[-300:]}")
        try:
            work.rename(home)
        except OSError:
            shutil.rmtree(work)
    return home / "node_modules"


class NodePeer:
    """The centre in node."""

    def __init__(self, modules: Path, *tls: Path) -> None:
        node = shutil.which("node")
        assert node is not None
        self._process = subprocess.Popen(
            [node, str(HERE / "peer.js"), *map(str, tls)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "NODE_PATH": str(modules)},
        )
        self.seen: list[dict[str, Any]] = []
        self._arrived = threading.Condition()
        self._reading = threading.Thread(target=self._read, daemon=True)
        self._reading.start()
        self._orders = 0
        self.port = int(self.wait("listening")["port"])

    def _read(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            with self._arrived:
                self.seen.append(json.loads(line))
                self._arrived.notify_all()

    def order(self, do: str, **more: Any) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps({"do": do, **more}) + "\n")
        self._process.stdin.flush()

    def mode(self, **mode: Any) -> None:
        """Put everything back to the usual but what is told."""
        before = len(self.all("mode"))
        self.order("mode", mode=mode)
        self.wait("mode", before + 1)

    def deliver(self, **pdu: Any) -> int:
        """Deliver and return the status of the answer."""
        number = self.begin_delivery(**pdu)
        return int(self.find(lambda e: e["event"] == "answered" and e["n"] == number)["status"])

    def begin_delivery(self, **pdu: Any) -> int:
        self._orders += 1
        usual = {
            "source_addr": "10005550101",
            "source_addr_ton": 1,
            "source_addr_npi": 1,
            "destination_addr": "123",
        }
        self.order("deliver", n=self._orders, pdu=usual | pdu)
        return self._orders

    def all(self, event: str) -> list[dict[str, Any]]:
        return [one for one in list(self.seen) if one["event"] == event]

    def wait(self, event: str, count: int = 1) -> dict[str, Any]:
        """Return the event of a kind that is the `count`-th of it."""
        with self._arrived:
            came = self._arrived.wait_for(lambda: len(self.all(event)) >= count, WAIT_S)
        assert came, f"{event} did not come {count} times: {self.seen[-5:]}"
        return self.all(event)[count - 1]

    def find(self, wanted: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        def found() -> dict[str, Any] | None:
            return next((one for one in self.seen if wanted(one)), None)

        with self._arrived:
            self._arrived.wait_for(lambda: found() is not None, WAIT_S)
        one = found()
        assert one is not None, f"not seen: {self.seen[-5:]}"
        return one

    def reset(self) -> None:
        """End every session and forget what was seen."""
        self.mode()
        self.order("drop")
        self.order("forgive")
        self.mode()
        self.seen.clear()

    def stop(self) -> None:
        assert self._process.stdin is not None
        self._process.stdin.close()
        self._process.wait(WAIT_S)
        self._reading.join(WAIT_S)
        assert self._process.stdout is not None
        self._process.stdout.close()


class RustPeer:
    """The centre of smpp34, in a thread with a loop of its own."""

    def __init__(self) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])
        self.submitted: list[Any] = []
        self.sessions: queue.Queue[Any] = queue.Queue()
        self.ends: queue.Queue[Any] = queue.Queue()
        self.judge: Callable[[Any, int], int] = lambda event, number: 0
        self._loop = asyncio.new_event_loop()
        self._ready = threading.Event()
        self._thread = threading.Thread(target=self._run)
        self._thread.start()
        self._ready.wait()

    def _run(self) -> None:
        self._task = self._loop.create_task(self._serve())
        self._loop.run_until_complete(self._task)
        self._loop.close()

    async def _serve(self) -> None:
        self._stopping = asyncio.Event()
        server = smpp34.Server("127.0.0.1", self.port, system_id="rust")
        await server.start()
        self._ready.set()
        taking = asyncio.create_task(self._take(server))
        await self._stopping.wait()
        taking.cancel()
        await asyncio.gather(taking, return_exceptions=True)
        await server.stop()

    async def _take(self, server: Any) -> None:
        while True:
            event = await server.next()
            if isinstance(event, smpp34.Esme):
                self.sessions.put(event)
            elif isinstance(event, smpp34.SubmitSmEvent):
                self.submitted.append(event)
                if status := self.judge(event, len(self.submitted)):
                    event.reject(status)
                else:
                    event.accept(f"r-{len(self.submitted)}")
            else:
                self.ends.put(event)

    def deliver(self, session: Any, **pdu: Any) -> int:
        """Deliver and return the status of the answer."""
        usual = {"source_addr": "10005550101", "source_addr_ton": 1, "source_addr_npi": 1}

        async def work() -> int:
            answer = await session.deliver_sm("123", **(usual | pdu))
            return int(answer.command_status)

        return asyncio.run_coroutine_threadsafe(work(), self._loop).result(WAIT_S)

    def stop(self) -> None:
        if self._thread.is_alive():
            self._loop.call_soon_threadsafe(self._stopping.set)
            self._thread.join(WAIT_S)


def until(true: Callable[[], Any], within: float = WAIT_S) -> Any:
    """Wait for something to be so, and return it."""
    end = time.monotonic() + within
    while not (found := true()):
        assert time.monotonic() < end, "it did not become so"
        time.sleep(0.005)
    return found


def clock() -> datetime:
    return datetime.now(UTC)
