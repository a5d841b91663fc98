"""An engine without a database, for tests: it keeps the same promises and passes the same tests."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from threading import Event, RLock

from service.jobs.periods import Timetable
from service.jobs.port import Scan, Step, Wait, moved, require_key, require_name

PAUSE_S = 0.01
FAULT_WAIT_S = 5.0

_MISTAKES = (ArithmeticError, AttributeError, LookupError, RuntimeError, TypeError, ValueError)
"""What is raised by mistake rather than by a fault that passes."""

log = logging.getLogger("litreline.jobs")


@dataclass
class PlainLedger:
    """What is kept. Engines that share one behave as processes at one database do.

    `runs` has, by name and key, the cursor of each batch under way and when it may go on.
    """

    fired: set[tuple[str, int]] = field(default_factory=set)
    runs: dict[tuple[str, str], tuple[str, datetime]] = field(default_factory=dict)
    lock: RLock = field(default_factory=RLock)


class PlainJobs:
    """Scans and batches in this process, one thing after another.

    Faults of the kinds in `faults` are tried again; mistakes end what they happened in.
    """

    def __init__(
        self,
        clock: Callable[[], datetime],
        ledger: PlainLedger | None = None,
        faults: tuple[type[Exception], ...] = (),
        fault_wait: float = FAULT_WAIT_S,
    ) -> None:
        self._clock, self._faults, self._fault_wait = clock, faults, fault_wait
        self._ledger = ledger or PlainLedger()
        self._timetable = Timetable()
        self._steps: dict[str, Step] = {}

    def every(self, name: str, period: timedelta, scan: Scan) -> None:
        self._timetable.add(name, period, scan)

    def batch(self, name: str, step: Step) -> None:
        self._steps[require_name(name)] = step

    def start(self, name: str, key: str) -> bool:
        at = (require_name(name), require_key(key))
        with self._ledger.lock:
            if at in self._ledger.runs:
                return False
            self._ledger.runs[at] = ("", self._clock())
            return True

    def described(self) -> tuple[str, ...]:
        return (*self._timetable.described(), *(f"batch {name}" for name in self._steps))

    def run(self, stop: Event) -> None:
        while not stop.is_set():
            if not self.once():
                stop.wait(PAUSE_S)

    def once(self) -> bool:
        """Do every scan that is due and one step of each batch; False when nothing was to do."""
        with self._ledger.lock:
            scans = [
                self._scan(name, number) for name, number in self._timetable.due(self._clock())
            ]
            steps = [self._step(*at) for at in list(self._ledger.runs) if self._ready(at)]
        return any(scans) or any(steps)

    def close(self) -> None:
        return None

    def _scan(self, name: str, number: int) -> bool:
        self._timetable.offered(name, number)
        if (name, number) in self._ledger.fired:
            return False
        self._ledger.fired.add((name, number))
        try:
            self._timetable.scans[name][1](self._clock())
        except self._faults as error:
            log.error("scan %s failed: %s", name, type(error).__name__)
        except _MISTAKES as error:
            log.error("scan %s ended by a mistake: %s", name, type(error).__name__)
        return True

    def _ready(self, at: tuple[str, str]) -> bool:
        return at[0] in self._steps and self._ledger.runs[at][1] <= self._clock()

    def _step(self, name: str, key: str) -> bool:
        cursor, _ = self._ledger.runs[name, key]
        try:
            outcome = moved(cursor, self._steps[name](key, cursor))
        except self._faults as error:
            log.error("a step of %s failed, trying again: %s", name, type(error).__name__)
            outcome = Wait(self._fault_wait)
        except _MISTAKES as error:
            del self._ledger.runs[name, key]
            log.error("batch %s ended by a mistake: %s", name, type(error).__name__)
            return True
        if outcome is None:
            del self._ledger.runs[name, key]
        elif isinstance(outcome, Wait):
            ready = self._clock() + timedelta(seconds=outcome.seconds)
            self._ledger.runs[name, key] = (cursor, ready)
        else:
            self._ledger.runs[name, key] = (outcome, self._clock())
        return True
