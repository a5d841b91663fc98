"""Keeps one bind up: connects, binds, waits longer after each failure, stops where that helps."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from typing import Literal, NamedTuple, TypeAlias

from service.gateways.smpp.codes import Command, Status, status_name
from service.gateways.smpp.options import SmppOptions
from service.gateways.smpp.ports import SmppError
from service.gateways.smpp.session import Deliver, LinkDown, LinkLost, NoResponse, Session
from service.gateways.smpp.submitting import NotBound
from service.gateways.smpp.wire import Connect

_log = logging.getLogger(__name__)

Standing: TypeAlias = Literal["down", "connecting", "bound", "stopped"]

HOPELESS = frozenset({Status.ESME_RINVPASWD, Status.ESME_RINVSYSID, Status.ESME_RINVSYSTYP})
"""Refusals that trying again only makes worse: a centre may lock the account."""


class LinkState(NamedTuple):
    """Where a bind stands, and why; "stopped" needs somebody to mend something first."""

    standing: Standing
    reason: str = ""


class BindRefused(SmppError):
    """The centre refused the bind."""

    def __init__(self, status: int) -> None:
        self.status = status
        super().__init__(f"the centre refused the bind: {status_name(status)}")


class Link:
    """One bind at a time, as long as `run` runs; made and used inside a running loop."""

    def __init__(
        self,
        options: SmppOptions,
        connect: Connect,
        deliver: Deliver,
        watch: Callable[[LinkState], None] = lambda _: None,
    ) -> None:
        self._options, self._connect, self._deliver = options, connect, deliver
        self._watch = watch
        self._loop = asyncio.get_running_loop()
        self._session: Session | None = None
        self._changed, self._ending = asyncio.Event(), asyncio.Event()
        self.state = LinkState("down", "not started")

    async def run(self) -> None:
        """Keep the bind up until `end` is called or the centre refuses us for good."""
        timers = self._options.timers
        wait = timers.first_wait
        while not self._ending.is_set():
            self._become("connecting")
            if await self._live() >= timers.steady:
                wait = timers.first_wait
            if self.state.standing == "stopped":
                return
            await self._rest(wait)
            wait = min(wait * 2, timers.longest_wait)

    async def bound(self, deadline: float) -> Session:
        """Return the bound session, waiting for one. Raises NotBound at the deadline."""
        while True:
            if self._session is not None and not self._session.closed:
                return self._session
            left = deadline - self._loop.time()
            if left <= 0 or self._ending.is_set() or self.state.standing == "stopped":
                raise NotBound(f"no bind: {self.state.reason or self.state.standing}")
            changed = asyncio.create_task(self._changed.wait())
            await asyncio.wait({changed}, timeout=left)
            changed.cancel()

    def ending(self) -> None:
        """Bind no more, and let nobody wait for a bind; the one that stands can still be used."""
        self._ending.set()
        self._wake()

    def give_up(self, reason: str) -> None:
        """Stop for good."""
        self._become("stopped", reason)

    async def end(self) -> None:
        """Unbind in good order and let `run` return."""
        self.ending()
        session = self._session
        if session is not None and not session.closed:
            try:
                await session.request(Command.UNBIND, None, self._options.timers.unbind)
            except (LinkDown, LinkLost, NoResponse):
                _log.info("the bind ended without an answer to our farewell")
            session.close("ended by us")
        self._become("down", "ended by us")

    def _become(self, standing: Standing, reason: str = "") -> None:
        if self.state.standing == "stopped" or self.state == (standing, reason):
            return
        self.state = LinkState(standing, reason)
        level = {"stopped": logging.ERROR, "down": logging.WARNING}.get(standing, logging.INFO)
        _log.log(level, "bind %s is %s. %s", self._options.name, standing, reason)
        self._wake()
        self._watch(self.state)

    def _wake(self) -> None:
        self._changed.set()
        self._changed = asyncio.Event()

    async def _rest(self, seconds: float) -> None:
        ending = asyncio.create_task(self._ending.wait())
        await asyncio.wait({ending}, timeout=seconds)
        ending.cancel()

    async def _live(self) -> float:
        """Connect, bind and stay; return how long the bind lasted [s]."""
        try:
            async with asyncio.timeout(self._options.timers.connect):
                wire = await self._connect()
        except TimeoutError:
            self._become("down", "the centre does not take the connection")
            return 0.0
        except OSError as error:
            self._become("down", f"no connection: {error.strerror or type(error).__name__}")
            return 0.0
        session = Session(wire, self._options.timers, self._deliver)
        running = asyncio.create_task(session.run())
        try:
            return await self._stay(session, running)
        finally:
            self._session = None
            session.close("ended")
            await asyncio.gather(running, return_exceptions=True)

    async def _stay(self, session: Session, running: asyncio.Task[str]) -> float:
        try:
            await self._bind(session)
        except BindRefused as refusal:
            self._become("stopped" if refusal.status in HOPELESS else "down", str(refusal))
            return 0.0
        except (LinkDown, LinkLost, NoResponse) as fault:
            self._become("down", f"no bind: {fault}")
            return 0.0
        since = self._loop.time()
        self._session = session
        self._become("bound")
        reason = await running
        self._become("down", reason)
        return self._loop.time() - since

    async def _bind(self, session: Session) -> None:
        options = self._options
        response = await session.request(
            options.bind_command, options.bind_body, options.timers.bind
        )
        if response.status != Status.ESME_ROK or response.command == Command.GENERIC_NACK:
            raise BindRefused(response.status)
