"""A loop whose clock jumps, a centre in memory that does as a test says, and what it is told.

The centre here speaks through our own codec, so it proves how the session behaves, not what the
octets mean: those are held to vectors, and to two peers that we did not write.
"""

from __future__ import annotations

import asyncio
import selectors
from collections.abc import Awaitable, Callable, Coroutine, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any, TypeVar

from service.gateways.smpp.assembly import MemoryShelf
from service.gateways.smpp.codec import (
    Address,
    Body,
    IdBody,
    MessageBody,
    NoBody,
    Pdu,
    decode,
    encode,
)
from service.gateways.smpp.codes import RESPONSE_BIT, Command, Status
from service.gateways.smpp.engine import Engine
from service.gateways.smpp.framing import Framer
from service.gateways.smpp.options import SmppOptions
from service.gateways.smpp.ports import (
    InboundSms,
    Outgoing,
    PartShelf,
    Receipt,
    SubmitResult,
    UssdIn,
    UssdOut,
)

T = TypeVar("T")

PHONE, OTHER_PHONE = "+10005550101", "+10005550102"
"""Invented numbers: no country has the code that they begin with."""


class Stuck(AssertionError):
    """Everybody waits for somebody else and no timer runs."""


class _JumpingSelector(selectors.SelectSelector):
    def __init__(self) -> None:
        super().__init__()
        self.now = 1_000.0

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        ready = super().select(0)
        if not ready:
            if timeout is None:
                raise Stuck
            self.now += timeout
        return ready


class JumpingLoop(asyncio.SelectorEventLoop):
    """Where nothing is to be done before a timer is due, its clock jumps to that moment."""

    def __init__(self) -> None:
        self._jumping = _JumpingSelector()
        super().__init__(self._jumping)

    def time(self) -> float:
        return self._jumping.now


def run(work: Coroutine[Any, Any, T]) -> T:
    """Run work on a clock that jumps."""
    with asyncio.Runner(loop_factory=JumpingLoop) as runner:
        return runner.run(work)


def now() -> float:
    return asyncio.get_running_loop().time()


def wall() -> datetime:
    """The time of day that goes with the jumping clock."""
    return datetime(2026, 11, 25, 9, 0, tzinfo=UTC) + timedelta(seconds=now() - 1_000.0)


class MemoryWire:
    """The end of a connection that the session holds."""

    def __init__(self, written: Callable[[bytes], None]) -> None:
        self._arriving: asyncio.Queue[bytes | OSError] = asyncio.Queue()
        self._written = written
        self.is_shut = False
        self.is_cut = False

    async def read(self) -> bytes:
        octets = await self._arriving.get()
        if isinstance(octets, OSError):
            raise octets
        return octets

    def write(self, octets: bytes) -> None:
        if self.is_cut:
            raise ConnectionResetError("cut")
        self._written(octets)

    async def drain(self) -> None:
        return None

    async def shut(self) -> None:
        self.is_shut = True

    def arrive(self, octets: bytes) -> None:
        self._arriving.put_nowait(octets)

    def cut(self) -> None:
        """Break the connection: what was written before may or may not have arrived."""
        self.is_cut = True
        self._arriving.put_nowait(ConnectionResetError("cut"))


class Connection:
    """One connection as the centre sees it."""

    def __init__(self, centre: Centre) -> None:
        self.wire = MemoryWire(self._written)
        self.at = now()
        self.requests: list[Pdu] = []
        self.responses: dict[int, Pdu] = {}
        self._centre, self._framer, self._sequence = centre, Framer(), 0

    def _written(self, octets: bytes) -> None:
        for whole in self._framer.feed(octets):
            pdu = decode(whole)
            if pdu.is_response:
                self.responses[pdu.sequence] = pdu
            else:
                self.requests.append(pdu)
                self._centre.serve(self, pdu)

    def send(self, pdu: Pdu) -> None:
        self.wire.arrive(encode(pdu))

    def answer(
        self, request: Pdu, status: int = 0, body: Body | None = None, after: float = 0.0
    ) -> None:
        pdu = Pdu(request.command | RESPONSE_BIT, request.sequence, status, body or NoBody())
        asyncio.get_running_loop().call_later(after, self.send, pdu)

    def ask(self, command: int, body: Body | None = None) -> int:
        self._sequence += 1
        self.send(Pdu(command, self._sequence, body=body or NoBody()))
        return self._sequence

    async def deliver(self, body: MessageBody, within: float = 20.0) -> Pdu | None:
        """Deliver and return the response, or None when it stays out."""
        sequence = self.ask(Command.DELIVER_SM, body)
        until = now() + within
        while sequence not in self.responses and now() < until:
            await asyncio.sleep(0.01)
        return self.responses.get(sequence)


class Centre:
    """Accepts everything at once, unless a test puts something else in its place."""

    def __init__(self) -> None:
        self.connections: list[Connection] = []
        self.tries: list[float] = []
        self.submitted: list[MessageBody] = []
        self.accepted: list[MessageBody] = []
        self.bind_status: list[int] = []
        """Statuses of the next binds; a good one when it is empty."""
        self.refuse_connections = 0
        self.on_submit: Callable[[Connection, Pdu], None] = self.accept
        self.answers_enquiries = True

    @property
    def line(self) -> Connection:
        """The newest connection."""
        return self.connections[-1]

    async def connect(self) -> MemoryWire:
        self.tries.append(now())
        if self.refuse_connections:
            self.refuse_connections -= 1
            raise ConnectionRefusedError(111, "Connection refused")
        self.connections.append(Connection(self))
        return self.line.wire

    def serve(self, line: Connection, pdu: Pdu) -> None:
        if pdu.command in (1, 2, 9):
            line.answer(pdu, self.bind_status.pop(0) if self.bind_status else 0, IdBody("centre"))
        elif pdu.command == Command.SUBMIT_SM:
            assert isinstance(pdu.body, MessageBody)
            self.submitted.append(pdu.body)
            self.on_submit(line, pdu)
        elif pdu.command == Command.UNBIND or (
            pdu.command == Command.ENQUIRE_LINK and self.answers_enquiries
        ):
            line.answer(pdu)

    def accept(self, line: Connection, pdu: Pdu, after: float = 0.0) -> None:
        assert isinstance(pdu.body, MessageBody)
        self.accepted.append(pdu.body)
        line.answer(pdu, 0, IdBody(f"id-{len(self.accepted)}"), after)


@dataclass
class Told:
    """An inlet that keeps what it was told, and fails where a test wants it to."""

    texts: list[InboundSms] = field(default_factory=list)
    before: list[InboundSms] = field(default_factory=list)
    """What an earlier process kept."""
    receipts: list[Receipt] = field(default_factory=list)
    settlements: list[tuple[str, SubmitResult]] = field(default_factory=list)
    steps: list[UssdIn] = field(default_factory=list)
    failures: list[Exception] = field(default_factory=list)
    known: Callable[[Receipt], bool] = lambda _: True
    screen: Callable[[UssdIn], UssdOut] = lambda step: UssdOut(f"screen {step.step}", more=True)

    def received(self, sms: InboundSms) -> None:
        self._fail()
        self.texts.append(sms)

    def kept(self, keys: Sequence[str], since: datetime) -> str | None:
        found = {sms.id_key for sms in (*self.before, *self.texts) if sms.received_at >= since}
        return next((key for key in keys if key in found), None)

    def receipt(self, receipt: Receipt) -> bool:
        self._fail()
        self.receipts.append(receipt)
        return self.known(receipt)

    def settled(self, message_id: str, result: SubmitResult) -> None:
        self._fail()
        self.settlements.append((message_id, result))

    def ussd(self, question: UssdIn) -> UssdOut:
        self._fail()
        self.steps.append(question)
        return self.screen(question)

    def _fail(self) -> None:
        if self.failures:
            raise self.failures.pop(0)


async def inline(work: Callable[[], T]) -> T:
    """Work without a thread, a little later."""
    await asyncio.sleep(0)
    return work()


def options(**changes: Any) -> SmppOptions:
    given: dict[str, Any] = {
        "host": "127.0.0.1",
        "port": 2775,
        "system_id": "litreline",
        "password": "secret",
        "sender": "123",
        "per_second": 1_000.0,
    }
    return SmppOptions(**(given | changes))


class Bench:
    """An engine bound to a centre in memory."""

    def __init__(self, shelf: PartShelf | None = None, **changes: Any) -> None:
        self.centre, self.told = Centre(), Told()
        self._ids = iter(range(1, 1_000_000))
        self.states: list[str] = []
        self.engine = Engine(
            options(**changes),
            self.told,
            connect=self.centre.connect,
            offload=inline,
            clock=wall,
            new_id=lambda: f"dialogue-{next(self._ids)}",
            shelf=shelf or MemoryShelf(),
            watch=lambda state: self.states.append(state.standing),
        )
        self._running: asyncio.Task[None] | None = None

    async def __aenter__(self) -> Bench:
        self._running = asyncio.create_task(self.engine.run())
        await asyncio.sleep(0.001)
        return self

    async def __aexit__(self, *_: object) -> None:
        assert self._running is not None
        self.engine.end(5.0)
        await self._running

    def submit(
        self, text: str = "Flush the lines", within: float = 60.0, **more: Any
    ) -> asyncio.Task[SubmitResult]:
        given: dict[str, Any] = {"id": f"message-{next(self._ids)}", "to": PHONE, "text": text}
        return asyncio.create_task(self.engine.submit(Outgoing(**(given | more)), within))


def on_bench(
    scene: Callable[[Bench], Awaitable[T]], shelf: PartShelf | None = None, **changes: Any
) -> T:
    """Play a scene on a bench, on a clock that jumps."""

    async def play() -> T:
        async with Bench(shelf, **changes) as bench:
            return await scene(bench)

    return run(play())


def mo(text: str = "2", phone: str = PHONE, **changes: Any) -> MessageBody:
    """A text from a phone, as the centre delivers it."""
    given: dict[str, Any] = {
        "source": Address(1, 1, phone.removeprefix("+")),
        "destination": Address(0, 0, "123"),
        "short_message": text.encode("ascii"),
    }
    return MessageBody(**(given | changes))


def status(response: Pdu | None) -> str:
    """Name of the status in a response that came."""
    assert response is not None
    return Status(response.status).name
