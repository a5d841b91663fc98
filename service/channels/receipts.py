"""What a gateway tells of a message after it was taken."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

from service.records import Message, Receipt, ReceiptState, UnitOfWork, require_aware


class Receipts:
    """Keeps receipts; each moves its message forward once, whenever it comes."""

    def __init__(self, unit_of_work: Callable[[], UnitOfWork], new_id: Callable[[], str]) -> None:
        self._unit_of_work, self._new_id = unit_of_work, new_id

    def accepted(self, message_id: str, part_ids: Sequence[str], now: datetime) -> None:
        """Note that a gateway has a message after all, though its answer was late."""
        with self._unit_of_work() as work:
            work.outbox.accepted(message_id, part_ids, require_aware(now))
            work.commit()

    def awaited(self, number: str) -> tuple[Message, ...]:
        """The last messages that left for a number and whose end is not known, newest first."""
        with self._unit_of_work() as work:
            return work.outbox.awaited(number)

    def take(self, message_id: str, state: ReceiptState, at: datetime, now: datetime) -> bool:
        """Keep a receipt; False when no message is known by it yet, which it may still become.

        Raises ValueError when a moment carries no time zone.
        """
        receipt = Receipt(self._new_id(), message_id, state, require_aware(at), require_aware(now))
        with self._unit_of_work() as work:
            known = work.outbox.receive(receipt)
            work.commit()
            return known
