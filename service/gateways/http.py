"""The gateway's way in over HTTP: calls, texts and receipts, signed, JSON both ways."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from flask import Blueprint, Response, jsonify, request
from werkzeug.exceptions import RequestEntityTooLarge

from service.channels import Conflict, Incoming, IncomingText, MissedCall, Reply, Rung, Taken
from service.errors import LitrelineError
from service.gateways.body import BadRequest
from service.gateways.call_request import read_call_request
from service.gateways.loopback import is_local_call
from service.gateways.signing import SignatureRefused, check_signature
from service.gateways.sms_request import read_receipt_request, read_sms_request
from service.gateways.ussd_request import read_ussd_request
from service.records import ReceiptState

MOST_BYTES = 32 * 1024
"""Most octets of a body: the longest text, with every letter as two escapes, takes 19 200."""


# The one answer that is given thousands of times; flask's own way makes an encoder for each.
_json = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


class TakesTurns(Protocol):
    """What answers one message of a conversation."""

    def take(self, incoming: Incoming, now: datetime) -> Reply:
        """Take one message and return what the caller sees next."""


class TakesTexts(Protocol):
    """What takes one text message; its reply leaves by itself."""

    def take(self, text: IncomingText, now: datetime) -> Taken:
        """Take one text."""


class TakesCalls(Protocol):
    """What takes calls that rang and were not answered."""

    def take(self, call: MissedCall, now: datetime) -> Rung:
        """Take one call."""


class TakesReceipts(Protocol):
    """What keeps what became of a message of ours."""

    def take(self, message_id: str, state: ReceiptState, at: datetime, now: datetime) -> bool:
        """Keep one receipt; False when no message is known by it yet."""


@dataclass(frozen=True)
class Inlet:
    """Whoever takes what a gateway brings. `after_text` is called once a text is kept."""

    turns: TakesTurns
    texts: TakesTexts
    calls: TakesCalls
    receipts: TakesReceipts
    clock: Callable[[], datetime]
    region: str = ""
    after_text: Callable[[], None] = lambda: None


class Forbidden(LitrelineError):
    """An unsigned request from elsewhere while no secret is set."""


@dataclass(frozen=True)
class _Gate:
    """Who may come in: whoever signs with one of the secrets, or this machine without any."""

    secrets: Sequence[str]

    def check(self, body: bytes, now: datetime) -> None:
        if self.secrets:
            check_signature(self.secrets, request.headers, body, now)
        elif not is_local_call(request.remote_addr, request.headers):
            raise Forbidden


def gateway_blueprint(inlet: Inlet, secrets: Sequence[str]) -> Blueprint:
    """Return the addresses below /gateway."""
    blueprint = Blueprint("gateway", __name__, url_prefix="/gateway")
    gate = _Gate(tuple(secrets))

    def entered() -> tuple[bytes, datetime]:
        request.max_content_length = MOST_BYTES
        body, now = request.get_data(cache=False), inlet.clock()
        gate.check(body, now)
        return body, now

    @blueprint.post("/ussd")
    def ussd() -> Response:
        body, now = entered()
        reply = inlet.turns.take(read_ussd_request(body, inlet.region).incoming(), now)
        answer = _json({"text": reply.text, "more": reply.more})
        return Response(answer, mimetype="application/json")

    @blueprint.post("/sms")
    def sms() -> tuple[Response, int]:
        body, now = entered()
        text = read_sms_request(body, inlet.region).incoming()
        # Taken, taken before or waiting for its other parts: the gateway is done with it.
        inlet.texts.take(text, now)
        inlet.after_text()
        return jsonify(id=text.id), 202

    @blueprint.post("/calls")
    def calls() -> tuple[Response, int]:
        body, now = entered()
        call = read_call_request(body, inlet.region).missed()
        inlet.calls.take(call, now)
        return jsonify(id=call.id), 202

    @blueprint.post("/receipts")
    def receipts() -> tuple[Response, int]:
        body, now = entered()
        receipt = read_receipt_request(body)
        known = inlet.receipts.take(receipt.id, receipt.state, receipt.at, now)
        return jsonify(id=receipt.id, known=known), 202

    _refusals(blueprint)
    return blueprint


def _refusals(blueprint: Blueprint) -> None:
    @blueprint.errorhandler(BadRequest)
    def bad_request(error: BadRequest) -> tuple[Response, int]:
        return jsonify(error=str(error), problems=error.problems), 400

    @blueprint.errorhandler(SignatureRefused)
    def unsigned(error: SignatureRefused) -> tuple[Response, int]:
        return jsonify(error=str(error)), 401

    @blueprint.errorhandler(Forbidden)
    def forbidden(_: Forbidden) -> tuple[Response, int]:
        return jsonify(
            error="without a gateway secret this service answers programs on its own machine"
            " only: set LITRELINE_GATEWAY_SECRET and sign the requests"
        ), 403

    @blueprint.errorhandler(Conflict)
    def conflict(error: Conflict) -> tuple[Response, int]:
        return jsonify(error=str(error)), 409

    @blueprint.errorhandler(RequestEntityTooLarge)
    def too_large(_: RequestEntityTooLarge) -> tuple[Response, int]:
        return jsonify(error=f"the body is too long: at most {MOST_BYTES} octets"), 413
