"""What the tests of SMPP share: the vectors, and the kit of a clock that jumps and a centre."""

from __future__ import annotations

import importlib.util
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any
from uuid import uuid4

import pytest

from service.gateways.smpp import SmppGateway, Timers


@pytest.fixture(scope="session")
def vectors() -> dict[str, Any]:
    path = Path(__file__).parents[2] / "data" / "messaging_smpp.json"
    found: dict[str, Any] = json.loads(path.read_text("utf-8"))
    return found


def beside(name: str) -> ModuleType:
    """Load a module from this folder."""
    path = Path(__file__).with_name(f"{name}.py")
    spec = importlib.util.spec_from_file_location(f"smpp_{name}", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    # Dataclasses look their module up by name.
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def kit() -> ModuleType:
    """A clock that jumps and a centre in memory."""
    return beside("kit")


@pytest.fixture(scope="session")
def peers() -> ModuleType:
    """Centres that we did not write."""
    return beside("peers")


@pytest.fixture(scope="session")
def node_modules(peers: ModuleType, request: pytest.FixtureRequest) -> Path:
    modules: Path = peers.node_modules(request.config.cache.mkdir("smpp-peer"))
    return modules


@pytest.fixture(scope="session")
def node_process(peers: ModuleType, node_modules: Path) -> Iterator[Any]:
    peer = peers.NodePeer(node_modules)
    yield peer
    peer.stop()


@pytest.fixture
def node(node_process: Any) -> Any:
    """The centre in node, as after its start."""
    node_process.reset()
    return node_process


@pytest.fixture
def rust(peers: ModuleType) -> Iterator[Any]:
    """The centre of smpp34."""
    peer = peers.RustPeer()
    yield peer
    peer.stop()


@pytest.fixture
def bound(kit: ModuleType, peers: ModuleType) -> Iterator[Any]:
    """Start gateways to a port and stop them at the end."""
    started: list[SmppGateway] = []

    def start(port: int, wait: bool = True, **changes: Any) -> tuple[SmppGateway, Any]:
        told = kit.Told()
        quick = {"response": 10.0, "first_wait": 0.05, "unbind": 1.0} | changes.pop("timers", {})
        options = kit.options(port=port, timers=Timers(**quick), **changes)
        gateway = SmppGateway(options, told, clock=peers.clock, new_id=lambda: uuid4().hex)
        gateway.start()
        started.append(gateway)
        if wait:
            peers.until(lambda: gateway.state.standing == "bound")
        return gateway, told

    yield start
    for gateway in started:
        gateway.stop(1.0)


@pytest.fixture
def no_numbers_in_logs(kit: ModuleType, caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """Fail when a number that the tests use stands in any line that was logged."""
    caplog.set_level("DEBUG")
    yield
    for number in (kit.PHONE, kit.OTHER_PHONE):
        assert number.removeprefix("+") not in caplog.text
