"""Joins link, gate, submitter and inbox inside one event loop."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from datetime import datetime

from service.gateways.smpp.codec import MessageBody
from service.gateways.smpp.faults import bare
from service.gateways.smpp.gate import URGENT, Gate
from service.gateways.smpp.inbox import Inbox, Offload
from service.gateways.smpp.link import Link, LinkState
from service.gateways.smpp.options import SmppOptions
from service.gateways.smpp.pace import Pace
from service.gateways.smpp.ports import Inlet, NotSent, Outgoing, PartShelf, SubmitResult
from service.gateways.smpp.submitting import Submitter, Taken
from service.gateways.smpp.wire import Connect

_log = logging.getLogger(__name__)


class Engine:
    """Everything of one bind; made inside the loop that runs it."""

    def __init__(
        self,
        options: SmppOptions,
        inlet: Inlet,
        *,
        connect: Connect,
        offload: Offload,
        clock: Callable[[], datetime],
        new_id: Callable[[], str],
        shelf: PartShelf,
        watch: Callable[[LinkState], None] = lambda _: None,
    ) -> None:
        self._options, self._inlet, self._offload = options, inlet, offload
        self._loop = asyncio.get_running_loop()
        self._gate = Gate(Pace(options.per_second, self._loop.time()), options.window)
        self._inbox = Inbox(options, inlet, shelf, offload, clock, new_id, self._show)
        self._link = Link(options, connect, self._inbox.deliver, watch)
        self._submitter = Submitter(options, self._link, self._gate, clock, self._settle)
        self._under_way: set[asyncio.Task[SubmitResult]] = set()
        self._telling: set[asyncio.Task[None]] = set()
        self._end_within: asyncio.Future[float] = self._loop.create_future()

    @property
    def state(self) -> LinkState:
        """Where the bind stands."""
        return self._link.state

    async def run(self) -> None:
        """Work until `end` is called, and leave in good order."""
        self._inbox.start()
        running = asyncio.create_task(self._link.run())
        running.add_done_callback(self._link_ended)
        within = await self._end_within
        self._gate.shut()
        self._link.ending()
        ending = [asyncio.create_task(self._inbox.finish(within)), *self._under_way]
        await asyncio.wait(ending, timeout=within)
        await self._link.end()
        await asyncio.wait({running}, timeout=self._options.timers.unbind)
        running.cancel()
        # Whatever was still under way has learnt from the end of the link that it is uncertain.
        await asyncio.gather(
            running, *ending, *self._under_way, *self._telling, return_exceptions=True
        )

    def _link_ended(self, running: asyncio.Task[None]) -> None:
        fault = None if running.cancelled() else running.exception()
        if fault is not None:
            _log.critical("a fault of ours ended the bind: %s", bare(fault))
            self._link.give_up(f"a fault of ours: {type(fault).__name__}")

    def end(self, within: float) -> None:
        """Let `run` return, at the latest `within` [s] and the time it takes to unbind."""
        if not self._end_within.done():
            self._end_within.set_result(within)

    async def submit(self, outgoing: Outgoing, within: float) -> SubmitResult:
        """Send a text; it begins to leave within `within` [s] from now, or not at all."""
        if self._end_within.done():
            return NotSent("the gateway is ending")
        deadline = self._loop.time() + within
        task = asyncio.create_task(self._submitter.submit(outgoing, deadline))
        self._under_way.add(task)
        task.add_done_callback(self._under_way.discard)
        # Whoever asked may give up waiting; what has left cannot be called back by that.
        return await asyncio.shield(task)

    async def _show(self, body: MessageBody) -> None:
        deadline = self._loop.time() + self._options.timers.ussd_answer
        fate = await self._submitter.submit_urgent(body, deadline, URGENT)
        if not isinstance(fate, Taken):
            _log.warning("a screen was not shown: %s", fate)

    def _settle(self, message_id: str, result: SubmitResult) -> None:
        task = asyncio.create_task(self._tell(message_id, result))
        self._telling.add(task)
        task.add_done_callback(self._telling.discard)

    async def _tell(self, message_id: str, result: SubmitResult) -> None:
        [outcome] = await asyncio.gather(
            self._offload(lambda: self._inlet.settled(message_id, result)), return_exceptions=True
        )
        if isinstance(outcome, BaseException):
            _log.error("the late outcome of %s could not be kept: %s", message_id, bare(outcome))
