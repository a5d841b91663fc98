"""Lets messages out one after another: within the window, at the pace, urgent ones first."""

from __future__ import annotations

import asyncio
from heapq import heappop, heappush
from itertools import count

from service.gateways.smpp.pace import Pace
from service.gateways.smpp.ports import SmppError

URGENT, ORDINARY = 0, 1
"""Somebody waits in front of a USSD screen; a text can wait."""


class GateShut(SmppError):
    """The message may not leave before the caller's time is up. `paused` [s]: by the centre."""

    def __init__(self, paused: float) -> None:
        self.paused = paused
        super().__init__(f"held back, by the centre's wish for {paused:.1f} s more")


class Gate:
    """Whoever enters may send one message, and leaves when its outcome is known or given up."""

    def __init__(self, pace: Pace, window: int) -> None:
        self.pace, self._free = pace, window
        self._loop = asyncio.get_running_loop()
        self._waiting: list[tuple[int, int, asyncio.Future[None]]] = []
        self._arrivals = count()
        self._timer: asyncio.TimerHandle | None = None

    async def enter(self, deadline: float, priority: int = ORDINARY) -> None:
        """Wait for one's turn. Raises GateShut at the deadline, or at once if it is too near."""
        now = self._loop.time()
        if self.pace.pause_left(now) > deadline - now:
            raise GateShut(self.pace.pause_left(now))
        turn: asyncio.Future[None] = self._loop.create_future()
        heappush(self._waiting, (priority, next(self._arrivals), turn))
        self._let_through()
        try:
            await asyncio.wait({turn}, timeout=max(0.0, deadline - now))
        except asyncio.CancelledError:
            if turn.done() and not turn.cancelled():
                self.leave()
            turn.cancel()
            raise
        if not turn.done() or turn.cancelled():
            turn.cancel()
            raise GateShut(self.pace.pause_left(self._loop.time()))

    def leave(self) -> None:
        """Make room for the next."""
        self._free += 1
        self._let_through()

    def shut(self) -> None:
        """Send away all who wait."""
        for _, _, turn in self._waiting:
            turn.cancel()

    def _let_through(self) -> None:
        if self._timer:
            self._timer.cancel()
            self._timer = None
        while self._free and self._next_turn():
            now = self._loop.time()
            if wait := self.pace.wait(now):
                self._timer = self._loop.call_later(wait, self._let_through)
                return
            self.pace.take(now)
            self._free -= 1
            heappop(self._waiting)[2].set_result(None)

    def _next_turn(self) -> bool:
        """Whether somebody waits; those who gave up are put aside."""
        while self._waiting and self._waiting[0][2].cancelled():
            heappop(self._waiting)
        return bool(self._waiting)
