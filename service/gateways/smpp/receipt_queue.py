"""Receipts that no message is known by yet.

A receipt can overtake the response to its submission, or come before the service has committed
the id in that response. So it waits here and is offered again.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable

from service.gateways.smpp.ports import Receipt

_log = logging.getLogger(__name__)

OFFERED_AFTER_S = (0.2, 1.0, 5.0, 30.0, 120.0, 600.0, 2840.0)
"""Waits between the offers [s]; an hour in all, well above any response's time limit."""
MOST_WAITING = 10_000


class ReceiptQueue:
    """Offers receipts until they are known; made and used inside a running loop."""

    def __init__(
        self,
        take: Callable[[Receipt], bool],
        offload: Callable[[Callable[[], bool]], Awaitable[bool]],
        most: int = MOST_WAITING,
    ) -> None:
        self._take, self._offload, self._most = take, offload, most
        self._waiting: set[asyncio.Task[None]] = set()

    async def take(self, receipt: Receipt) -> bool:
        """Offer a receipt at once. False when it is not known and there is no room to wait.

        Raises whatever the service raises.
        """
        if await self._offload(lambda: self._take(receipt)):
            return True
        if len(self._waiting) >= self._most:
            return False
        task = asyncio.create_task(self._offer_again(receipt))
        self._waiting.add(task)
        task.add_done_callback(self._waiting.discard)
        return True

    async def finish(self) -> None:
        """Forget what still waits: receipts are hints, and the state then stays unknown."""
        waiting = list(self._waiting)
        for task in waiting:
            task.cancel()
        await asyncio.gather(*waiting, return_exceptions=True)

    async def _offer_again(self, receipt: Receipt) -> None:
        for wait in OFFERED_AFTER_S:
            await asyncio.sleep(wait)
            [known] = await asyncio.gather(
                self._offload(lambda: self._take(receipt)), return_exceptions=True
            )
            if known is True:
                return
        _log.warning("a receipt for no message of ours: %s", receipt.message_id)
