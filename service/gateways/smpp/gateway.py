"""The SMPP gateway as the rest of the service sees it: blocking calls, one thread of its own."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from datetime import datetime
from threading import Event, Thread
from typing import TypeVar

from service.gateways.smpp.assembly import MemoryShelf
from service.gateways.smpp.engine import Engine
from service.gateways.smpp.link import LinkState
from service.gateways.smpp.options import SmppOptions
from service.gateways.smpp.ports import Inlet, NotSent, Outgoing, PartShelf, SubmitResult, Uncertain
from service.gateways.smpp.wire import Connect, connector

_log = logging.getLogger(__name__)

T = TypeVar("T")
_GRACE_S = 5.0


class SmppGateway:
    """One bind to one centre. Start it in the process that sends, after any fork.

    `clock` tells the time of day with a zone; `new_id` makes ids of USSD dialogues. The shelf for
    parts of long texts is this process's memory unless one that commits is given.
    """

    def __init__(
        self,
        options: SmppOptions,
        inlet: Inlet,
        *,
        clock: Callable[[], datetime],
        new_id: Callable[[], str],
        shelf: PartShelf | None = None,
        connect: Connect | None = None,
        watch: Callable[[LinkState], None] = lambda _: None,
    ) -> None:
        self._options, self._inlet = options, inlet
        self._clock, self._new_id, self._watch = clock, new_id, watch
        self._shelf = shelf or MemoryShelf()
        self._connect = connect or connector(options)
        self._loop: asyncio.AbstractEventLoop | None = None
        self._engine: Engine | None = None
        self._thread: Thread | None = None

    @property
    def state(self) -> LinkState:
        """Where the bind stands."""
        return self._engine.state if self._engine else LinkState("down", "not started")

    def start(self) -> None:
        """Begin to connect, and return at once. Raises RuntimeError when already started."""
        if self._thread is not None:
            raise RuntimeError("the SMPP gateway is already started")
        ready = Event()
        # A sender that dies without `stop` must not be kept alive by its link.
        self._thread = Thread(
            target=self._run, args=(ready,), name=f"{self._options.name}-link", daemon=True
        )
        self._thread.start()
        ready.wait()

    def stop(self, within: float = _GRACE_S) -> None:
        """Wait for what is under way, unbind, and end the thread."""
        if self._thread is None:
            return
        if self._loop is not None and self._engine is not None:
            # A loop that has ended in the meantime needs no telling.
            with contextlib.suppress(RuntimeError):
                self._loop.call_soon_threadsafe(self._engine.end, within)
        self._thread.join()
        self._thread = self._loop = None

    def submit(self, outgoing: Outgoing, within: float) -> Future[SubmitResult]:
        """Hand over a text; it begins to leave within `within` [s] from now, or not at all.

        The result comes within that time plus two response time limits for each part. Up to ten
        may be under way at once, which is how a sender of one thread keeps the window full.
        """
        if self._loop is None or self._engine is None:
            done: Future[SubmitResult] = Future()
            done.set_result(NotSent("the gateway is not started"))
            return done
        work = self._engine.submit(outgoing, within)
        try:
            return asyncio.run_coroutine_threadsafe(work, self._loop)
        except RuntimeError:
            work.close()
            done = Future()
            done.set_result(NotSent("the gateway has ended"))
            return done

    def send(self, outgoing: Outgoing, within: float) -> SubmitResult:
        """Send a text and wait for what becomes of it."""
        try:
            return self.submit(outgoing, within).result()
        except CancelledError:
            return Uncertain("the gateway ended while the message was under way")

    def _run(self, ready: Event) -> None:
        try:
            with ThreadPoolExecutor(self._options.lanes + 1, f"{self._options.name}-inlet") as pool:
                asyncio.run(self._main(ready, pool))
        finally:
            # Should the engine not even have come up, nobody waits for it for ever.
            ready.set()

    async def _main(self, ready: Event, pool: ThreadPoolExecutor) -> None:
        self._loop = asyncio.get_running_loop()

        async def offload(work: Callable[[], T]) -> T:
            return await asyncio.get_running_loop().run_in_executor(pool, work)

        self._engine = Engine(
            self._options,
            self._inlet,
            connect=self._connect,
            offload=offload,
            clock=self._clock,
            new_id=self._new_id,
            shelf=self._shelf,
            watch=self._watch,
        )
        ready.set()
        await self._engine.run()
