"""What the stand-in network knows: keys it has seen, what each phone got, and what it counted."""

from __future__ import annotations

import hashlib
from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock
from typing import Any, Literal, TypeAlias

Taken: TypeAlias = Literal["delivered", "again", "other-body"]


@dataclass
class Network:
    """Delivers each key once. `on_delivery` is called with the id and the number of each."""

    on_delivery: Callable[[str, str, str], None] = lambda *_: None
    counts: Counter[str] = field(default_factory=Counter)
    inboxes: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    deliveries: Counter[str] = field(default_factory=Counter)
    _keys: dict[str, bytes] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    def take(self, key: str, body: bytes, message: dict[str, Any]) -> Taken:
        """Take one message under its key and deliver it, unless it was delivered before."""
        digest = hashlib.sha256(body).digest()
        with self._lock:
            known = self._keys.setdefault(key, digest)
            if key in self.deliveries:
                self.counts["again" if known == digest else "other-body"] += 1
                return "again" if known == digest else "other-body"
            self.deliveries[key] += 1
            self.counts["delivered"] += 1
            self.inboxes[message["to"]].append(message["text"])
        self.on_delivery(message["id"], message["to"], message["text"])
        return "delivered"

    def count(self, what: str) -> None:
        """Count something that happened."""
        with self._lock:
            self.counts[what] += 1

    def inbox(self, number: str) -> list[str]:
        """The texts that a phone has got, the oldest first."""
        with self._lock:
            return list(self.inboxes.get(number, ()))

    def summary(self) -> dict[str, Any]:
        """What was counted; `most_deliveries` of one key must never be more than one."""
        with self._lock:
            return {
                **self.counts,
                "keys": len(self.deliveries),
                "phones": len(self.inboxes),
                "most_deliveries": max(self.deliveries.values(), default=0),
            }
