"""Long inbound texts, put together from their parts."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from hashlib import sha256
from threading import Lock

from service.gateways.smpp.ports import InboundPart, InboundSms, SmppError

WAIT = timedelta(minutes=10)
"""How long a text waits for its missing parts before it is taken as far as it came."""


MOST_TEXTS = 10_000


class ShelfFull(SmppError):
    """More unfinished texts than anybody sends; the centre has to deliver the part again."""


class MemoryShelf:
    """Holds parts in this process only: those of an unfinished text are lost when it ends."""

    def __init__(self) -> None:
        self._held: dict[tuple[str, str, int, int], dict[int, InboundPart]] = {}
        self._lock = Lock()

    def put(self, part: InboundPart) -> tuple[InboundPart, ...]:
        """Keep a part and return all that are held of its text."""
        with self._lock:
            if part.message not in self._held and len(self._held) >= MOST_TEXTS:
                raise ShelfFull(f"{MOST_TEXTS} unfinished texts")
            parts = self._held.setdefault(part.message, {})
            parts.setdefault(part.number, part)
            return tuple(parts.values())

    def clear(self, message: tuple[str, str, int, int]) -> None:
        """Forget the parts of a text."""
        with self._lock:
            self._held.pop(message, None)

    def overdue(self, before: datetime) -> tuple[tuple[InboundPart, ...], ...]:
        """Return the texts whose first part came before a moment."""
        with self._lock:
            held = [tuple(parts.values()) for parts in self._held.values()]
        return tuple(parts for parts in held if _first_at(parts) < before)


def is_whole(parts: Sequence[InboundPart]) -> bool:
    """Whether no part is missing."""
    return len(parts) == parts[0].total


def put_together(parts: Sequence[InboundPart]) -> InboundSms:
    """Return the text of the parts in their order; a gap reads as a space.

    Its key follows from what the parts have in common and when the first of them came, so it
    is the same however often the last part is delivered.
    """
    ordered = sorted(parts, key=lambda part: part.number)
    first_at = _first_at(parts)
    named = "\x1f".join(map(str, (*ordered[0].message, first_at.isoformat())))
    text, expected = "", 1
    for part in ordered:
        text += (" " if part.number > expected else "") + part.text
        expected = part.number + 1
    one = ordered[0]
    key = sha256(named.encode("utf-8")).hexdigest()
    return InboundSms(key, one.source, one.destination, text, first_at)


def _first_at(parts: Sequence[InboundPart]) -> datetime:
    return min(part.received_at for part in parts)
