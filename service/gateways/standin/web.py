"""The addresses of the stand-in network: the gateway's own, and those to play a phone.

`http.server` keeps connections open, as real gateways do, and lets a fault close one.
"""

from __future__ import annotations

import json
import re
import socket
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from http.server import BaseHTTPRequestHandler
from typing import Any, ClassVar, NamedTuple
from urllib.parse import unquote

import requests

from service.gateways.signing import SignatureRefused, check_signature
from service.gateways.standin.faults import Dice, Faults
from service.gateways.standin.network import Network
from service.gateways.standin.phones import Phones, ServiceSilent

MOST_BYTES = 64 * 1024
_PHONE = re.compile(r"/phones/([^/]+)(?:/(sms|dial|answer|hang-up|ring))?")


@dataclass(frozen=True)
class Switchboard:
    """What the addresses work with."""

    network: Network
    phones: Phones
    dice: Dice
    faults: Faults
    secret: str
    clock: Callable[[], datetime]


class Answer(NamedTuple):
    """A status, and a JSON body; without a body the connection is closed instead."""

    status: int
    body: dict[str, Any] | None
    retry_after: int | None = None


class Handler(BaseHTTPRequestHandler):
    """Answers one connection; a subclass carries the switchboard."""

    board: ClassVar[Switchboard]
    protocol_version = "HTTP/1.1"
    # Header and body leave together, not one after the other's acknowledgement.
    wbufsize = -1
    disable_nagle_algorithm = True

    def do_GET(self) -> None:
        """Tell counts, or what a phone has got."""
        if self.path == "/counts":
            self._send(Answer(200, self.board.network.summary()))
        elif (match := _PHONE.fullmatch(self.path)) and not match[2]:
            self._send(Answer(200, {"texts": self.board.network.inbox(_number(match[1]))}))
        else:
            self._send(Answer(404, {"error": "nothing here"}))

    def do_POST(self) -> None:
        """Take a message, or play a phone."""
        length = self.headers.get("Content-Length", "0")
        if not length.isdecimal() or int(length) > MOST_BYTES:
            self.close_connection = True
            self._send(Answer(413, {"error": f"send at most {MOST_BYTES} octets"}))
            return
        body = self.rfile.read(int(length))
        if self.path == "/messages":
            self._send(take_message(self.board, dict(self.headers.items()), body))
        elif (match := _PHONE.fullmatch(self.path)) and match[2]:
            self._send(_played(self.board.phones, _number(match[1]), match[2], body))
        else:
            self._send(Answer(404, {"error": "nothing here"}))

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing: bodies and addresses hold numbers."""

    def _send(self, answer: Answer) -> None:
        if answer.body is None:
            self._hang_up()
            return
        raw = json.dumps(answer.body, ensure_ascii=False).encode()
        self.send_response(answer.status)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(raw)))
        if answer.retry_after is not None:
            self.send_header("Retry-After", str(answer.retry_after))
        self.end_headers()
        self.wfile.write(raw)

    def _hang_up(self) -> None:
        """Close the connection without an answer, after the caller has waited if so wished."""
        if self.board.faults.stall_s:
            time.sleep(self.board.faults.stall_s)
        self.close_connection = True
        self.connection.shutdown(socket.SHUT_RDWR)


def take_message(board: Switchboard, headers: dict[str, str], body: bytes) -> Answer:
    """Take one message as the gateway of the contract, with whatever fault is thrown."""
    board.network.count("requests")
    refusal = _refusal(board, headers, body)
    if refusal is not None:
        return refusal
    if board.faults.delay_s:
        time.sleep(board.faults.delay_s)
    fate = board.dice.fate()
    board.network.count(fate)
    if fate == "lost":
        return Answer(0, None)
    if fate == "503":
        return Answer(503, {"error": "not now"}, retry_after=0)
    key = headers["Idempotency-Key"].strip('"')
    taken = board.network.take(key, body, json.loads(body))
    if fate == "silent":
        return Answer(0, None)
    if taken == "other-body":
        return Answer(422, {"error": "this key was used for another message"})
    return Answer(202, {"id": key})


def _refusal(board: Switchboard, headers: dict[str, str], body: bytes) -> Answer | None:
    if board.secret:
        try:
            check_signature([board.secret], headers, body, board.clock())
        except SignatureRefused as error:
            return Answer(401, {"error": str(error)})
    if not headers.get("Idempotency-Key"):
        return Answer(400, {"error": "send an Idempotency-Key"})
    try:
        message = json.loads(body)
        good = all(isinstance(message[name], str) for name in ("id", "from", "to", "text"))
    except (ValueError, KeyError, TypeError):
        good = False
    return None if good else Answer(400, {"error": "send id, from, to and text"})


def _number(text: str) -> str:
    return unquote(text)


def _played(phones: Phones, number: str, what: str, body: bytes) -> Answer:
    try:
        given = json.loads(body or b"{}")
        text = str(given["text"]) if isinstance(given, dict) and "text" in given else ""
        return Answer(200, _play(phones, number, what, text))
    except ValueError:
        return Answer(400, {"error": "send a JSON object with text"})
    except (ServiceSilent, requests.RequestException) as error:
        return Answer(502, {"error": str(error)})


def _play(phones: Phones, number: str, what: str, text: str) -> dict[str, Any]:
    if what == "sms":
        return {"id": phones.text(number, text)}
    if what == "ring":
        return {"id": phones.ring(number)}
    if what == "dial":
        return phones.dial(number, text or "*100#")
    if what == "answer":
        return phones.answer(number, text)
    phones.hang_up(number)
    return {}
