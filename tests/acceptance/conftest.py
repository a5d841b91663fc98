"""The service as its users meet it: real processes, a real port, a database on disk."""

from __future__ import annotations

import importlib.util
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple

import pytest
import requests

LITRELINE = [sys.executable, "-c", "import sys; from service.cli import main; sys.exit(main())"]
PATIENCE_S = 20


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


class Finished(NamedTuple):
    returncode: int
    stdout: str
    stderr: str


class Server:
    """`litreline serve` in a process group of its own."""

    def __init__(self, data_dir: Path, **settings: str) -> None:
        self.data_dir, self.settings = data_dir, settings
        self.port = free_port()
        self.process: subprocess.Popen[str] | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        environ = {
            **os.environ,
            "LITRELINE_DATA_DIR": str(self.data_dir),
            "LITRELINE_LISTEN": f"127.0.0.1:{self.port}",
            **{f"LITRELINE_{name}": value for name, value in self.settings.items()},
        }
        self.process = subprocess.Popen(
            [*LITRELINE, "serve"],
            env=environ,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        self._wait()

    def end(self, how: signal.Signals) -> str:
        """Send a signal to every process of the server and return what it had printed."""
        assert self.process is not None
        process, self.process = self.process, None
        os.killpg(process.pid, how)
        printed, _ = process.communicate(timeout=PATIENCE_S)
        return printed

    def _wait(self) -> None:
        assert self.process is not None
        deadline = time.monotonic() + PATIENCE_S
        while time.monotonic() < deadline:
            if self.process.poll() is not None:
                pytest.fail(f"the server ended: {self.process.communicate()[0]}")
            try:
                if requests.get(f"{self.url}/readyz", timeout=2).ok:
                    return
            except requests.ConnectionError:
                time.sleep(0.05)
        pytest.fail("the server did not become ready")


@pytest.fixture
def make_server(tmp_path: Path) -> Iterator[Callable[..., Server]]:
    servers: list[Server] = []

    def make(**settings: str) -> Server:
        server = Server(tmp_path / "data", **settings)
        servers.append(server)
        server.start()
        return server

    yield make
    for server in servers:
        if server.process is not None:
            server.end(signal.SIGKILL)


@pytest.fixture
def start(tmp_path: Path) -> Callable[..., subprocess.Popen[str]]:
    def start(*arguments: str, **settings: str) -> subprocess.Popen[str]:
        environ = {
            **os.environ,
            "LITRELINE_DATA_DIR": str(tmp_path / "data"),
            **{f"LITRELINE_{name}": value for name, value in settings.items()},
        }
        pipe = subprocess.PIPE
        return subprocess.Popen(
            [*LITRELINE, *arguments], env=environ, stdin=pipe, stdout=pipe, stderr=pipe, text=True
        )

    return start


@pytest.fixture
def litreline(start: Any) -> Callable[..., Finished]:
    def run(*arguments: str, given: str = "", **settings: str) -> Finished:
        process = start(*arguments, **settings)
        printed, warned = process.communicate(given, timeout=60)
        return Finished(process.returncode, printed, warned)

    return run


@pytest.fixture(scope="session")
def new_server() -> type[Server]:
    """A server to be started by hand, with a folder of its choice."""
    return Server


@pytest.fixture(scope="session")
def command() -> list[str]:
    """What runs the command line in a process of its own."""
    return LITRELINE


@pytest.fixture(scope="session")
def peers() -> ModuleType:
    """The SMPP centres that we did not write, those of the gateway's own tests."""
    path = Path(__file__).parents[1] / "gateways" / "smpp" / "peers.py"
    spec = importlib.util.spec_from_file_location("acceptance_peers", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def node(peers: ModuleType, request: pytest.FixtureRequest) -> Iterator[Any]:
    """The centre of npm `smpp`, for one test."""
    peer = peers.NodePeer(peers.node_modules(request.config.cache.mkdir("smpp-peer")))
    yield peer
    peer.stop()


@pytest.fixture
def rust(peers: ModuleType) -> Iterator[Any]:
    """The centre of smpp34, for one test."""
    peer = peers.RustPeer()
    yield peer
    peer.stop()
