"""The gateway's way out over HTTP: one signed request a message, safe to repeat under its key."""

from __future__ import annotations

import json
import threading
from collections.abc import Mapping
from datetime import datetime
from email.utils import parsedate_to_datetime

import requests
from urllib3.exceptions import MaxRetryError, NewConnectionError

from service.channels import Accepted, Answer, NotNow, Outgoing, Refused, Unknown
from service.gateways.signing import signed_headers

TIMEOUT_S = (5.0, 15.0)
"""For a connection, and for an answer on it [s]."""
_LONGEST_WAIT_S = 3600.0
_SLOW = {408: "took too long", 425: "came too early", 429: "too many at once"}
_OURS = {401: "the signature was refused", 403: "this service is not let in"}


class HttpGateway:
    """Sends texts by `POST {url}/messages`.

    The contract lets the same key come twice and delivers once, so a request whose answer was
    lost is simply sent again. `secret` signs; an empty one leaves requests unsigned, for a
    gateway on this machine.
    """

    repeatable = True

    def __init__(
        self, url: str, secret: str = "", timeout_s: tuple[float, float] = TIMEOUT_S
    ) -> None:
        self._address = f"{url.rstrip('/')}/messages"
        self._secret, self._timeout = secret, timeout_s
        # A session is not made to be shared between threads.
        self._own = threading.local()

    def submit(self, message: Outgoing, now: datetime) -> Answer:
        """Send one message and return what came of it."""
        body = {"id": message.id, "from": message.sender, "to": message.to, "text": message.text}
        raw = json.dumps(body, ensure_ascii=False, separators=(",", ":")).encode()
        headers = {"Content-Type": "application/json", "Idempotency-Key": f'"{message.id}"'}
        if self._secret:
            headers |= signed_headers(self._secret, raw, now)
        try:
            answer = self._session().post(
                self._address, data=raw, headers=headers, timeout=self._timeout,
                allow_redirects=False,
            )  # fmt: skip
        except requests.ConnectTimeout:
            return NotNow("no connection to the gateway")
        except requests.Timeout:
            return Unknown("no answer from the gateway in time")
        except requests.ConnectionError as error:
            return _lost(error)
        except requests.RequestException as error:
            return Unknown(f"no readable answer: {type(error).__name__}")
        return answered(answer.status_code, answer.headers, now)

    def _session(self) -> requests.Session:
        if not hasattr(self._own, "session"):
            self._own.session = _session_for(self._address)
        session: requests.Session = self._own.session
        return session


def _session_for(address: str) -> requests.Session:
    """A session that looks at the environment's proxies and certificates once, not each time.

    That search costs a quarter of a request to a gateway nearby (measured). A password file of
    the machine's user is no business of ours.
    """
    session = requests.Session()
    found = session.merge_environment_settings(address, {}, None, None, None)
    session.trust_env = False
    session.proxies, session.verify = found["proxies"], found["verify"]
    return session


def answered(status: int, headers: Mapping[str, str], now: datetime) -> Answer:
    """Return what a status code means for a message.

    A fault of the server may have come after it took the message: only the same key settles
    that.
    """
    after = retry_after(headers.get("Retry-After", ""), now)
    if 200 <= status < 300:
        return Accepted()
    if status in _SLOW:
        return NotNow(f"{status}: {_SLOW[status]}", after, slower=True)
    if status == 409:
        return NotNow("409: the same message is still on its way", after)
    if status == 503:
        return NotNow("503: the gateway is not available", after)
    if status in _OURS:
        return Refused(f"{status}: {_OURS[status]}", alert=True)
    if status >= 500:
        return Unknown(f"{status}: a fault of the gateway")
    if status in (404, 405) or 300 <= status < 400:
        return Refused(f"{status}: there is no gateway at this address", alert=True)
    return Refused(f"{status}: the gateway refused this message")


def retry_after(value: str, now: datetime) -> float | None:
    """Return the seconds of a Retry-After header: a number or a date."""
    if value.strip().isdecimal():
        return min(float(value), _LONGEST_WAIT_S)
    try:
        moment = parsedate_to_datetime(value)
    except ValueError:
        return None
    if moment.utcoffset() is None:
        return None
    return min(max((moment - now).total_seconds(), 0.0), _LONGEST_WAIT_S)


def _lost(error: requests.ConnectionError) -> Answer:
    """A connection that was never made sent nothing; one that broke may have."""
    cause = error.args[0] if error.args else None
    # A name that is not found counts among these too.
    if isinstance(cause, MaxRetryError) and isinstance(cause.reason, NewConnectionError):
        return NotNow("no connection to the gateway")
    return Unknown("the connection broke")
