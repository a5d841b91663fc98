"""The phones of the stand-in network: they dial, ring, answer, text; the network hands these over.

As real gateways do it repeats what was not answered, under the same id.
"""

from __future__ import annotations

import json
import queue
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from itertools import count
from typing import Any
from uuid import uuid4

import requests

from service.errors import LitrelineError
from service.gateways.signing import signed_headers
from service.gateways.standin.faults import Dice

TRIES = 8
WAIT_S = 0.5
TIMEOUT_S = 10.0


class ServiceSilent(LitrelineError):
    """The service did not answer, however often the network tried."""


@dataclass
class Call:
    """A USSD call of one phone."""

    session: str
    service_code: str
    step: int = 0


@dataclass
class Phones:
    """Speaks to the service at `url`, signed with `secret` when there is one."""

    url: str
    secret: str
    dice: Dice
    clock: Callable[[], datetime]
    calls: dict[str, Call] = field(default_factory=dict)
    _numbers: count[int] = field(default_factory=count)
    _run: str = field(default_factory=lambda: uuid4().hex[:8])
    _own: threading.local = field(default_factory=threading.local)

    def dial(self, number: str, service_code: str) -> dict[str, Any]:
        """Begin a call and return the first screen."""
        self.calls[number] = Call(f"call-{self._run}-{next(self._numbers)}", service_code)
        return self._step(number, "", "begin")

    def answer(self, number: str, text: str) -> dict[str, Any]:
        """Answer the screen and return the next."""
        if number not in self.calls:
            return {"text": "no call", "more": False}
        self.calls[number].step += 1
        return self._step(number, text, "continue")

    def hang_up(self, number: str) -> None:
        """End the call from the phone's side."""
        if number in self.calls:
            self._step(number, "", "abort")
            self.calls.pop(number, None)

    def text(self, number: str, text: str, to: str = "12345") -> str:
        """Send a text and return its id once the service has it."""
        message_id = f"sms-{self._run}-{next(self._numbers)}"
        at = self.clock().isoformat(timespec="seconds")
        body = {"id": message_id, "from": number, "to": to, "text": text, "received_at": at}
        self._delivered("sms", body)
        return message_id

    def ring(self, number: str, to: str = "12345") -> str:
        """Ring once and hang up; return the call's id once the service has it."""
        call_id = f"ring-{self._run}-{next(self._numbers)}"
        at = self.clock().isoformat(timespec="seconds")
        self._delivered("calls", {"id": call_id, "from": number, "to": to, "at": at})
        return call_id

    def receipt(self, message_id: str) -> None:
        """Tell that a phone has got a message."""
        at = self.clock().isoformat(timespec="seconds")
        self._delivered("receipts", {"id": message_id, "state": "delivered", "at": at})

    def _step(self, number: str, text: str, phase: str) -> dict[str, Any]:
        call = self.calls[number]
        body = {
            "session": call.session,
            "step": call.step,
            "from": number,
            "service_code": call.service_code,
            "input": text,
            "phase": phase,
        }
        screen: dict[str, Any] = self._delivered("ussd", body)
        if not screen["more"]:
            self.calls.pop(number, None)
        return screen

    def _delivered(self, what: str, body: dict[str, Any]) -> Any:
        raw = json.dumps(body, ensure_ascii=False).encode()
        answer = self._posted(what, raw)
        return self._posted(what, raw) if self.dice.twice() else answer

    def _posted(self, what: str, raw: bytes) -> Any:
        why = ""
        for tried in range(TRIES):
            if tried:
                time.sleep(WAIT_S * tried)
            headers = {"Content-Type": "application/json"}
            if self.secret:
                headers |= signed_headers(self.secret, raw, self.clock())
            try:
                answer = self._session().post(
                    f"{self.url}/gateway/{what}", data=raw, headers=headers, timeout=TIMEOUT_S
                )
            except requests.RequestException as error:
                why = type(error).__name__
                continue
            if answer.status_code < 500:
                answer.raise_for_status()
                return answer.json()
            why = str(answer.status_code)
        raise ServiceSilent(f"{self.url}/gateway/{what} did not answer: {why}")

    def _session(self) -> requests.Session:
        if not hasattr(self._own, "session"):
            self._own.session = requests.Session()
        session: requests.Session = self._own.session
        return session


class ReceiptQueue:
    """Sends receipts beside the answers, in a thread of its own."""

    def __init__(self, phones: Phones, delay_s: float = 0.0) -> None:
        self._phones, self._delay_s = phones, delay_s
        self._waiting: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self.failed = 0
        self._thread = threading.Thread(target=self._run, name="receipts", daemon=True)
        self._thread.start()

    def put(self, message_id: str) -> None:
        """Send a receipt soon."""
        self._waiting.put(message_id)

    def close(self, timeout_s: float = 5.0) -> None:
        """Send what waits, then end."""
        self._waiting.put(None)
        self._thread.join(timeout_s)

    def _run(self) -> None:
        while (message_id := self._waiting.get()) is not None:
            if self._delay_s:
                time.sleep(self._delay_s)
            try:
                self._phones.receipt(message_id)
            except (ServiceSilent, requests.RequestException):
                self.failed += 1
