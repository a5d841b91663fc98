"""One connection: requests and their responses in any order, and whether the peer is alive."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeAlias

from service.gateways.smpp.codec import Body, CodecError, IdBody, NoBody, Pdu, decode, encode
from service.gateways.smpp.codes import RESPONSE_BIT, Command, Status, status_name
from service.gateways.smpp.faults import bare
from service.gateways.smpp.framing import Framer, OutOfStep
from service.gateways.smpp.options import Timers
from service.gateways.smpp.ports import SmppError
from service.gateways.smpp.wire import Wire

_log = logging.getLogger(__name__)

LAST_SEQUENCE = 0x7FFFFFFF
_MOST_UNANSWERED = 1000
"""Requests whose response may still come late; beyond it the oldest are forgotten."""
_WITHOUT_RESPONSE = frozenset({Command.OUTBIND, Command.ALERT_NOTIFICATION})


class LinkLost(SmppError):
    """The connection ended before the response came."""


class LinkDown(SmppError):
    """The connection had ended before anything was written."""


class NoResponse(SmppError):
    """The response did not come in time; it still may."""


@dataclass(slots=True)
class Pending:
    """A request that left at a moment [s], and its response to come."""

    command: int
    sent_at: float
    response: asyncio.Future[Pdu] = field(repr=False)


Deliver: TypeAlias = Callable[["Session", Pdu], None]


class Session:
    """Speaks over one wire until it ends; made and used inside a running loop.

    `deliver` takes each deliver_sm, and whoever works on it calls `respond` when it is kept.
    """

    def __init__(self, wire: Wire, timers: Timers, deliver: Deliver) -> None:
        self._wire, self._timers, self._deliver = wire, timers, deliver
        self._loop = asyncio.get_running_loop()
        self._pending: dict[int, Pending] = {}
        self._sequence = 0
        self._heard_at = self.heard_up_to = self._loop.time()
        self._ended: asyncio.Future[str] = self._loop.create_future()

    @property
    def closed(self) -> bool:
        """Whether nothing can be sent any more."""
        return self._ended.done()

    @property
    def outstanding(self) -> int:
        """Requests of ours without a response."""
        return len(self._pending)

    def close(self, reason: str) -> None:
        """End it; the first reason given stands."""
        if not self._ended.done():
            self._ended.set_result(reason)

    async def run(self) -> str:
        """Read until the end and return its reason; every open request then fails."""
        reading = asyncio.create_task(self._read())
        watching = asyncio.create_task(self._watch())
        reading.add_done_callback(lambda _: self.close("reading ended"))
        try:
            return await asyncio.shield(self._ended)
        finally:
            self.close("stopped")
            await _stopped(reading, watching)
            self._fail_pending(self._ended.result())
            await self._wire.shut()

    def send(self, command: Command, body: Body | None = None) -> Pending:
        """Write a request. Raises LinkDown when that is no longer possible.

        Raises ValueError, with nothing written, for a body that SMPP has no room for.
        """
        sequence = self._next_sequence()
        octets = encode(Pdu(command, sequence, body=body or NoBody()))
        self._write(octets)
        pending = Pending(command, self._loop.time(), self._loop.create_future())
        # A response that nobody waits for any more may fail without anybody hearing of it.
        pending.response.add_done_callback(_retrieve)
        self._pending[sequence] = pending
        if len(self._pending) > _MOST_UNANSWERED:
            self._pending.pop(next(iter(self._pending)))
        return pending

    async def answer(self, pending: Pending, within: float) -> Pdu:
        """Wait for a response. Raises NoResponse when the time is up, LinkLost at the end.

        After NoResponse the response may still come: `pending.response` then tells it.
        """
        await asyncio.wait({pending.response}, timeout=within)
        if not pending.response.done():
            raise NoResponse(f"no response within {within:g} s")
        return pending.response.result()

    async def request(self, command: Command, body: Body | None, within: float) -> Pdu:
        """Write a request and wait for its response."""
        return await self.answer(self.send(command, body), within)

    def respond(self, request: Pdu, status: Status = Status.ESME_ROK) -> bool:
        """Answer a request; False when the connection ended first."""
        body = IdBody() if request.command == Command.DELIVER_SM else NoBody()
        return self._reply(request.command | RESPONSE_BIT, request.sequence, status, body)

    def _reply(self, command: int, sequence: int, status: int, body: Body | None = None) -> bool:
        try:
            self._write(encode(Pdu(command, sequence, status, body or NoBody())))
        except LinkDown:
            return False
        return True

    def _write(self, octets: bytes) -> None:
        if self.closed:
            raise LinkDown(self._ended.result())
        try:
            self._wire.write(octets)
        except OSError as error:
            self.close(f"connection lost: {error}")
            raise LinkDown(self._ended.result()) from error

    def _next_sequence(self) -> int:
        self._sequence = self._sequence % LAST_SEQUENCE + 1
        while self._sequence in self._pending:
            self._sequence = self._sequence % LAST_SEQUENCE + 1
        return self._sequence

    def _fail_pending(self, reason: str) -> None:
        for pending in self._pending.values():
            if not pending.response.done():
                pending.response.set_exception(LinkLost(reason))
        self._pending.clear()

    async def _read(self) -> None:
        framer = Framer()
        try:
            while octets := await self._wire.read():
                for whole in framer.feed(octets):
                    self._take(whole)
                # A peer that asks and does not take our answers must wait.
                await self._wire.drain()
            self.close("the centre closed the connection")
        except OutOfStep as fault:
            self._reply(Command.GENERIC_NACK, 0, Status.ESME_RINVCMDLEN)
            self.close(f"out of step: {fault}")
        except OSError as error:
            self.close(f"connection lost: {error}")

    async def _watch(self) -> None:
        """Ask a quiet peer whether it is there, and give up one that stays silent."""
        while True:
            asked_at, due = self._loop.time(), self._heard_at + self._timers.quiet
            if asked_at < due:
                await asyncio.sleep(due - asked_at)
                continue
            try:
                self.send(Command.ENQUIRE_LINK)
            except LinkDown:
                return
            await asyncio.sleep(self._timers.silence)
            if self._heard_at < asked_at:
                self.close("the centre is silent")
                return

    def _take(self, octets: bytes) -> None:
        self._heard_at = self._loop.time()
        try:
            pdu = decode(octets)
        except CodecError as fault:
            self._refuse(fault)
            return
        if pdu.is_response:
            self._match(pdu)
        else:
            self._serve(pdu)

    def _refuse(self, fault: CodecError) -> None:
        _log.warning("a PDU that cannot be read: %s", fault)
        if not fault.command & RESPONSE_BIT:
            self._reply(fault.command | RESPONSE_BIT, fault.sequence, fault.status)

    def _match(self, response: Pdu) -> None:
        pending = self._pending.get(response.sequence)
        if pending is None:
            if response.command == Command.GENERIC_NACK and response.sequence == 0:
                # The peer could not even read a header of ours.
                self.close(f"the centre lost step ({status_name(response.status)})")
            return
        if response.command not in (pending.command | RESPONSE_BIT, Command.GENERIC_NACK):
            _log.warning("a response of another kind than its request; left out of account")
            return
        del self._pending[response.sequence]
        self.heard_up_to = max(self.heard_up_to, pending.sent_at)
        if not pending.response.done():
            pending.response.set_result(response)

    def _serve(self, request: Pdu) -> None:
        if request.command == Command.DELIVER_SM:
            self._deliver(self, request)
        elif request.command == Command.ENQUIRE_LINK:
            self.respond(request)
        elif request.command == Command.UNBIND:
            self.respond(request)
            self.close("the centre ended the bind")
        elif request.command not in _WITHOUT_RESPONSE:
            self._reply(Command.GENERIC_NACK, request.sequence, Status.ESME_RINVCMDID)


async def _stopped(*tasks: asyncio.Task[None]) -> None:
    """End tasks. A fault of our own costs this connection, not the whole gateway."""
    for task in tasks:
        task.cancel()
    for outcome in await asyncio.gather(*tasks, return_exceptions=True):
        if isinstance(outcome, Exception):
            _log.error("a fault of ours ended the connection: %s", bare(outcome))


def _retrieve(response: asyncio.Future[Pdu]) -> None:
    if not response.cancelled():
        response.exception()
