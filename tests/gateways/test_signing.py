"""The signature of a gateway, against vectors and against everything that must be refused."""

from __future__ import annotations

import hashlib
import hmac
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from service.gateways.signing import (
    SIGNATURE_HEADER,
    TIMESTAMP_HEADER,
    SignatureRefused,
    check_signature,
    signature,
    signed_headers,
)

VECTORS: list[dict[str, Any]] = json.loads(
    (Path(__file__).parents[1] / "data" / "hmac_vectors.json").read_text("utf-8")
)["vectors"]
PLAIN = [one for one in VECTORS if "message" in one]
SIGNED = [one for one in VECTORS if "timestamp" in one]

NOW = datetime(2026, 7, 1, 9, 30, tzinfo=UTC)
BODY = b'{"session":"a1"}'


@pytest.mark.parametrize("vector", PLAIN, ids=lambda one: one["id"])
def test_the_hash_beneath_is_hmac_sha256(vector: dict[str, Any]) -> None:
    """RFC 4231 cases 1, 2 and 6 (inputs and results from memory, reproduced with OpenSSL)."""
    key = bytes.fromhex(vector["key_hex"])
    found = hmac.new(key, vector["message"].encode(), hashlib.sha256).hexdigest()
    assert found == vector["hmac_sha256"]


@pytest.mark.parametrize("vector", SIGNED, ids=lambda one: one["id"])
def test_a_body_is_signed_with_its_timestamp(vector: dict[str, Any]) -> None:
    """Vectors computed with Python's hmac and with OpenSSL, which agreed."""
    secret = bytes.fromhex(vector["key_hex"]).decode()
    found = signature(secret, vector["timestamp"], vector["body"].encode("utf-8"))
    assert found == vector["hmac_sha256"]


@pytest.mark.parametrize("vector", SIGNED, ids=lambda one: one["id"])
def test_a_signed_vector_is_let_in(vector: dict[str, Any]) -> None:
    headers = {
        TIMESTAMP_HEADER: vector["timestamp"],
        SIGNATURE_HEADER: vector["hmac_sha256"].upper(),
    }
    secret = bytes.fromhex(vector["key_hex"]).decode()
    now = datetime.fromtimestamp(1_700_000_000, UTC)
    check_signature([secret], headers, vector["body"].encode("utf-8"), now)


@pytest.mark.parametrize("shift", [timedelta(0), timedelta(minutes=5), timedelta(minutes=-5)])
def test_what_we_sign_is_let_in_within_the_window(shift: timedelta) -> None:
    check_signature(["secret"], signed_headers("secret", BODY, NOW), BODY, NOW + shift)


@pytest.mark.parametrize("shift", [timedelta(seconds=301), timedelta(seconds=-301)])
def test_outside_the_window_is_refused(shift: timedelta) -> None:
    with pytest.raises(SignatureRefused, match="more than 5 minutes"):
        check_signature(["secret"], signed_headers("secret", BODY, NOW), BODY, NOW + shift)


def test_either_of_two_live_secrets_is_good() -> None:
    headers = signed_headers("old", BODY, NOW)
    check_signature(["new", "old"], headers, BODY, NOW)
    with pytest.raises(SignatureRefused, match="does not match"):
        check_signature(["new"], headers, BODY, NOW)


def _changed(**headers: str) -> dict[str, str]:
    return {**signed_headers("secret", BODY, NOW), **headers}


@pytest.mark.parametrize(
    ("headers", "body", "words"),
    [
        ({}, BODY, "answers signed requests only"),
        ({TIMESTAMP_HEADER: str(int(NOW.timestamp()))}, BODY, "answers signed requests only"),
        (_changed(**{TIMESTAMP_HEADER: ""}), BODY, "answers signed requests only"),
        (_changed(**{TIMESTAMP_HEADER: "soon"}), BODY, "whole seconds since 1970"),
        (_changed(**{TIMESTAMP_HEADER: "-5"}), BODY, "whole seconds since 1970"),
        (_changed(**{TIMESTAMP_HEADER: "१७"}), BODY, "whole seconds since 1970"),
        (_changed(**{TIMESTAMP_HEADER: str(int(NOW.timestamp()) + 1)}), BODY, "does not match"),
        (_changed(**{SIGNATURE_HEADER: "0" * 64}), BODY, "does not match"),
        (_changed(**{SIGNATURE_HEADER: "é" * 64}), BODY, "does not match"),
        (_changed(), BODY + b" ", "does not match"),
        (_changed(), b"", "does not match"),
    ],
)
def test_what_is_not_proven_is_refused(headers: dict[str, str], body: bytes, words: str) -> None:
    with pytest.raises(SignatureRefused, match=words):
        check_signature(["secret"], headers, body, NOW)
