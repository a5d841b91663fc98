"""The signature on what a gateway sends us and we send it.

HMAC-SHA256 over the timestamp, a dot and the raw body, in two headers, within a window of five
minutes. The octets that came are signed, never JSON written again.
"""

from __future__ import annotations

import hashlib
import hmac
import re
from collections.abc import Sequence
from datetime import datetime, timedelta

from service.errors import LitrelineError
from service.gateways.headers import Headers
from service.records import require_aware

TIMESTAMP_HEADER = "Litreline-Timestamp"
SIGNATURE_HEADER = "Litreline-Signature"
WINDOW = timedelta(minutes=5)


class SignatureRefused(LitrelineError):
    """A request that is not proven to come from the gateway; the message says what to mend."""


def signature(secret: str, timestamp: str, body: bytes) -> str:
    """Return the signature of a body, in hexadecimal."""
    message = timestamp.encode("ascii") + b"." + body
    return hmac.new(secret.encode("utf-8"), message, hashlib.sha256).hexdigest()


def signed_headers(secret: str, body: bytes, now: datetime) -> dict[str, str]:
    """Return the two headers that prove a body of ours, sent now."""
    timestamp = str(int(require_aware(now).timestamp()))
    return {
        TIMESTAMP_HEADER: timestamp,
        SIGNATURE_HEADER: signature(secret, timestamp, body),
    }


def check_signature(secrets: Sequence[str], headers: Headers, body: bytes, now: datetime) -> None:
    """Raise SignatureRefused unless one of the secrets signed this body in the window.

    Several secrets may live at once, so that one can be replaced without a gap.
    """
    timestamp = headers.get(TIMESTAMP_HEADER, "")
    given = headers.get(SIGNATURE_HEADER, "").lower()
    if not timestamp or not given:
        raise SignatureRefused(
            f"this service answers signed requests only: send the headers {TIMESTAMP_HEADER}"
            f" (seconds since 1970) and {SIGNATURE_HEADER} (hexadecimal HMAC-SHA256 of the"
            " timestamp, a dot and the raw body)"
        )
    _check_window(timestamp, now)
    if not _matches(secrets, timestamp, given, body):
        raise SignatureRefused(
            f"{SIGNATURE_HEADER} does not match: sign the timestamp as sent, a dot and the raw"
            " body as sent, with the shared secret"
        )


def _check_window(timestamp: str, now: datetime) -> None:
    if not re.fullmatch(r"[0-9]{1,12}", timestamp):
        raise SignatureRefused(
            f"{TIMESTAMP_HEADER} must be whole seconds since 1970; example 1700000000"
        )
    if abs(require_aware(now).timestamp() - int(timestamp)) > WINDOW.total_seconds():
        raise SignatureRefused(
            f"{TIMESTAMP_HEADER} is more than {WINDOW.seconds // 60} minutes from this service's"
            " clock: set the clock, or sign the request again"
        )


def _matches(secrets: Sequence[str], timestamp: str, given: str, body: bytes) -> bool:
    if not re.fullmatch(r"[0-9a-f]{64}", given):
        return False
    # Every secret is tried, so that the time taken does not tell which one came near.
    return any(
        [hmac.compare_digest(signature(secret, timestamp, body), given) for secret in secrets]  # noqa: C419
    )
