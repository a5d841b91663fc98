"""What may go wrong on the way, at which rate; seeded, so that a run can be had again."""

from __future__ import annotations

import random
from dataclasses import dataclass
from threading import Lock
from typing import Literal, TypeAlias

Fate: TypeAlias = Literal["lost", "503", "silent", "well"]


@dataclass(frozen=True, slots=True)
class Faults:
    """Rates from 0 to 1, and a delay [s].

    `loss`: the request goes nowhere and is not answered. `error_503`: refused for now.
    `timeout_after_delivery`: delivered, but the answer is lost. `duplicate`: a receipt or a
    phone's message comes twice. `stall_s`: how long a connection without an answer stays open.
    """

    delay_s: float = 0.0
    loss: float = 0.0
    error_503: float = 0.0
    duplicate: float = 0.0
    timeout_after_delivery: float = 0.0
    stall_s: float = 0.0
    seed: int = 1


class Dice:
    """Throws for one network, from any thread."""

    def __init__(self, faults: Faults) -> None:
        self._faults = faults
        self._random, self._lock = random.Random(faults.seed), Lock()  # noqa: S311

    def fate(self) -> Fate:
        """What becomes of the next request."""
        with self._lock:
            thrown = self._random.random()
        ranges: tuple[tuple[Fate, float], ...] = (
            ("lost", self._faults.loss),
            ("503", self._faults.error_503),
            ("silent", self._faults.timeout_after_delivery),
        )
        for fate, rate in ranges:
            if thrown < rate:
                return fate
            thrown -= rate
        return "well"

    def twice(self) -> bool:
        """Whether the next message of the network's own comes twice."""
        with self._lock:
            return self._random.random() < self._faults.duplicate
