"""Who counts as a program on this machine."""

from __future__ import annotations

import pytest

from service.gateways import is_local_call, is_loopback


@pytest.mark.parametrize(
    "host", ["127.0.0.1", "127.8.9.1", "::1", "[::1]", "localhost", "::ffff:127.0.0.1"]
)
def test_loopback(host: str) -> None:
    assert is_loopback(host)


@pytest.mark.parametrize(
    "host", ["0.0.0.0", "::", "192.168.1.4", "example.org", "localhost.example.org", "", None]
)
def test_not_loopback(host: str | None) -> None:
    assert not is_loopback(host)


@pytest.mark.parametrize(
    "host", ["localhost:8000", "127.0.0.1", "127.0.0.1:8000", "[::1]:8000", "[::1]"]
)
def test_a_program_on_this_machine_is_let_in(host: str) -> None:
    assert is_local_call("127.0.0.1", {"Host": host})


@pytest.mark.parametrize(
    ("peer", "headers"),
    [
        ("192.168.1.4", {"Host": "localhost:8000"}),
        (None, {"Host": "localhost:8000"}),
        ("127.0.0.1", {}),
        ("127.0.0.1", {"Host": "rebound.example.org:8000"}),
        ("127.0.0.1", {"Host": "localhost", "Forwarded": "for=192.0.2.1"}),
        ("127.0.0.1", {"Host": "localhost", "X-Forwarded-For": "192.0.2.1"}),
        ("127.0.0.1", {"Host": "localhost", "X-Real-Ip": "192.0.2.1"}),
        ("127.0.0.1", {"Host": "localhost", "Origin": "https://example.org"}),
    ],
)
def test_anybody_else_is_not(peer: str | None, headers: dict[str, str]) -> None:
    assert not is_local_call(peer, headers)
