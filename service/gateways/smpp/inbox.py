"""What the centre delivers: kept first, then acknowledged; a few phones at the same time.

Each phone has its lane, so its texts are taken one after another in the order they came.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Coroutine
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Protocol, TypeAlias, TypeVar
from zlib import crc32

from service.gateways.smpp.alphabet import text_of
from service.gateways.smpp.assembly import WAIT, is_whole, put_together
from service.gateways.smpp.codec import MessageBody, Pdu
from service.gateways.smpp.codes import Status, Tag
from service.gateways.smpp.concatenation import Place, content
from service.gateways.smpp.faults import bare
from service.gateways.smpp.options import SmppOptions
from service.gateways.smpp.outgoing import screen
from service.gateways.smpp.ports import InboundPart, InboundSms, Inlet, PartShelf, UssdOut
from service.gateways.smpp.receipt_queue import ReceiptQueue
from service.gateways.smpp.receipts import TYPE_MASK, is_receipt, read_receipt
from service.gateways.smpp.recent import WINDOW_S, Recent, Sighting, fingerprint
from service.gateways.smpp.session import Session
from service.gateways.smpp.ussd import Dialogue, Dialogues, is_ussd

_log = logging.getLogger(__name__)

AGAIN_LATER = Status.ESME_RX_T_APPN
"""The answer to whatever could not be kept: the centre delivers it again."""
_SWEEP_S = 30.0

T = TypeVar("T")
Show: TypeAlias = Callable[[MessageBody], Coroutine[None, None, None]]


class Offload(Protocol):
    """Runs work that may wait for a disk or a lock, without stopping the link meanwhile."""

    async def __call__(self, work: Callable[[], T]) -> T:
        """Return what the work returns, or raise what it raises."""


@dataclass(frozen=True, slots=True)
class _Delivery:
    session: Session
    pdu: Pdu
    message: MessageBody
    arrived_at: float
    received_at: datetime


class Inbox:
    """Takes deliveries of every session of one bind; made and used inside a running loop."""

    def __init__(
        self,
        options: SmppOptions,
        inlet: Inlet,
        shelf: PartShelf,
        offload: Offload,
        clock: Callable[[], datetime],
        new_id: Callable[[], str],
        show: Show,
    ) -> None:
        self._options, self._inlet, self._shelf = options, inlet, shelf
        self._offload, self._clock, self._show = offload, clock, show
        self._loop = asyncio.get_running_loop()
        self._recent, self._dialogues = Recent(self._loop.time()), Dialogues(options, new_id)
        self._receipts = ReceiptQueue(inlet.receipt, offload)
        self._lanes: list[asyncio.Queue[_Delivery]] = [
            asyncio.Queue(options.lane_room) for _ in range(options.lanes)
        ]
        self._workers: set[asyncio.Task[None]] = set()
        self._screens: set[asyncio.Task[None]] = set()
        self._closing = False

    def start(self) -> None:
        """Begin to work."""
        for lane in self._lanes:
            _spawn(self._work_lane(lane), self._workers)
        _spawn(self._sweep(), self._workers)

    async def finish(self, within: float) -> None:
        """Take nothing more, work off what was taken, and end."""
        self._closing = True
        until = self._loop.time() + within
        waits = [asyncio.create_task(lane.join()) for lane in self._lanes]
        await asyncio.wait(waits, timeout=within)
        if self._screens:
            await asyncio.wait(self._screens, timeout=max(0.0, until - self._loop.time()))
        tasks = [*waits, *self._workers, *self._screens]
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        await self._receipts.finish()

    def deliver(self, session: Session, pdu: Pdu) -> None:
        """Take one deliver_sm, or tell the centre to come again later."""
        message = pdu.body
        if not isinstance(message, MessageBody):
            return
        lane = self._lanes[crc32(message.source.number.encode("latin-1")) % len(self._lanes)]
        if self._closing or lane.full():
            session.respond(pdu, AGAIN_LATER)
            return
        lane.put_nowait(_Delivery(session, pdu, message, self._loop.time(), self._clock()))

    async def _work_lane(self, lane: asyncio.Queue[_Delivery]) -> None:
        while True:
            delivery = await lane.get()
            try:
                # What came over a link that is gone comes again over the next one.
                if not delivery.session.closed:
                    await self._work(delivery)
            finally:
                lane.task_done()

    async def _work(self, delivery: _Delivery) -> None:
        print_ = fingerprint(self._options.name, delivery.message)
        # Whatever went wrong, in the store or in ourselves, must cost one delivery and no lane.
        [outcome] = await asyncio.gather(self._keep(delivery, print_), return_exceptions=True)
        if isinstance(outcome, BaseException):
            _log.error("a delivery could not be kept: %s", bare(outcome))
        if isinstance(outcome, BaseException) or outcome is False:
            delivery.session.respond(delivery.pdu, AGAIN_LATER)
            return
        self._recent.kept(print_)
        if delivery.session.respond(delivery.pdu):
            self._recent.acknowledged(print_, delivery.session, self._loop.time())
        if isinstance(outcome, MessageBody):
            _spawn(self._show(outcome), self._screens)

    async def _keep(self, delivery: _Delivery, print_: str) -> MessageBody | bool:
        """Keep a delivery. False when it has to come again; a screen when one is to be shown."""
        message = delivery.message
        sighting = await self._sighted(delivery, print_)
        if is_receipt(message):
            receipt = read_receipt(message, self._options.zone, delivery.received_at)
            if receipt is None:
                _log.warning("a receipt that names no message")
                return True
            ends = (message.source, message.destination)
            parties = tuple(self._options.number_of(one) for one in ends if one.number)
            return await self._receipts.take(replace(receipt, parties=parties))
        if is_ussd(message):
            return await self._ussd(delivery, sighting)
        if message.esm_class & TYPE_MASK:
            _log.info("a delivery of type 0x%02X, of no use here", message.esm_class & TYPE_MASK)
            return True
        await self._text(delivery, sighting)
        return True

    async def _sighted(self, delivery: _Delivery, print_: str) -> Sighting:
        """Look whether a delivery came before, soon after a restart in the store too."""
        arrived_at, wall = delivery.arrived_at, delivery.received_at
        keys = self._recent.earlier_keys(print_, arrived_at, wall)
        if keys and not is_receipt(delivery.message) and not is_ussd(delivery.message):
            since = wall - timedelta(seconds=WINDOW_S)
            key = await self._offload(lambda: self._inlet.kept(keys, since))
            if key is not None:
                self._recent.remember(print_, key, arrived_at)
        return self._recent.look(print_, delivery.session, arrived_at, wall)

    async def _text(self, delivery: _Delivery, sighting: Sighting) -> None:
        message = delivery.message
        place, octets = content(message)
        text = text_of(octets, message.data_coding, self._options.default_alphabet)
        if text is None or not message.source.number:
            _log.info("a delivery that is no text of a phone (coding %d)", message.data_coding)
            return
        if place is None:
            sms = InboundSms(
                _provider_key(self._options.name, message) or sighting.key,
                self._options.number_of(message.source),
                message.destination.number,
                text,
                delivery.received_at,
            )
            await self._offload(lambda: self._inlet.received(sms))
        elif not (sighting.again and sighting.kept):
            # A part that was kept before may belong to a text that has long been put together.
            part = self._part(delivery, place, text, sighting.key)
            await self._offload(lambda: self._keep_part(part))

    def _part(self, delivery: _Delivery, place: Place, text: str, key: str) -> InboundPart:
        return InboundPart(
            source=self._options.number_of(delivery.message.source),
            destination=delivery.message.destination.number,
            reference=place.reference,
            total=place.total,
            number=place.number,
            text=text,
            received_at=delivery.received_at,
            id_key=key,
        )

    def _keep_part(self, part: InboundPart) -> None:
        parts = self._shelf.put(part)
        if is_whole(parts):
            self._inlet.received(put_together(parts))
            self._shelf.clear(part.message)

    async def _ussd(self, delivery: _Delivery, sighting: Sighting) -> MessageBody | bool:
        message = delivery.message
        octets = message.short_message or message.tlv(Tag.MESSAGE_PAYLOAD) or b""
        text = text_of(octets, message.data_coding, self._options.default_alphabet) or ""
        now = self._loop.time()
        found = self._dialogues.read(message, text, sighting.again, now)
        if found is None:
            return True
        dialogue, question = found
        out = await self._offload(lambda: self._inlet.ussd(question))
        return True if question.phase == "abort" else self._screen(dialogue, out)

    def _screen(self, dialogue: Dialogue, out: UssdOut) -> MessageBody | bool:
        dialogue.ended = dialogue.ended or not out.more
        tlvs = dialogue.marks(more=out.more)
        try:
            return screen(out.text, dialogue.caller, dialogue.service, tlvs, self._options)
        except ValueError as error:
            _log.error("a screen of dialogue %s cannot be shown: %s", dialogue.key, error)
            return True

    async def _sweep(self) -> None:
        """Take long texts that miss a part as far as they came."""
        while True:
            await asyncio.sleep(_SWEEP_S)
            [outcome] = await asyncio.gather(
                self._offload(lambda: self._take_overdue(WAIT)), return_exceptions=True
            )
            if isinstance(outcome, BaseException):
                _log.error("an unfinished text could not be kept: %s", bare(outcome))

    def _take_overdue(self, wait: timedelta) -> None:
        for parts in self._shelf.overdue(self._clock() - wait):
            _log.info("a text in %d parts came with %d only", parts[0].total, len(parts))
            self._inlet.received(put_together(parts))
            self._shelf.clear(parts[0].message)


def _spawn(work: Coroutine[None, None, None], tasks: set[asyncio.Task[None]]) -> None:
    task = asyncio.create_task(work)
    tasks.add(task)
    task.add_done_callback(tasks.discard)


def _provider_key(bind: str, message: MessageBody) -> str | None:
    """The centre's own id of a text, where it tells one."""
    id_ = message.tlv(Tag.RECEIPTED_MESSAGE_ID)
    return f"{bind}:{id_.rstrip(bytes(1)).decode('latin-1')}" if id_ else None
