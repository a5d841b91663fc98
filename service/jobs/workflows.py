"""The two workflows that the library keeps for us: one part of a batch, and one scan."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from threading import Event, Lock
from typing import TypeVar

from dbos import DBOS, EnqueueOptions

from service.errors import LitrelineError
from service.jobs.periods import Timetable
from service.jobs.port import Step, Wait, moved

VERSION = "1"
"""To be raised when the workflows change their shape; steps and scans may change as they like."""
QUEUES = {"scan": "scans", "batch": "batches"}
"""Which queue each kind of workflow stands in."""
LAST_STEPS_S = 10.0
"""How long a step under way may take to end once we are told to stop [s]."""
LEAST_WAIT_S = 0.1
"""A pause that is over already must not become a busy loop [s]."""
_LOOK_S = 0.02

T = TypeVar("T")

log = logging.getLogger("litreline.jobs")


class JobsUnavailable(LitrelineError):
    """An engine that cannot run here, or a job that this process does not know."""


def options(workflow: str, workflow_id: str) -> EnqueueOptions:
    """Return what is said of a workflow when it is put into its queue."""
    return {
        "workflow_name": workflow,
        "queue_name": QUEUES[workflow],
        "workflow_id": workflow_id,
        "app_version": VERSION,
    }


@dataclass
class Workflows:
    """The workflows of a process, and what they call.

    What a workflow decides by comes out of a step, whose result the library notes down: after a
    death it decides alike again, up to the step that was not noted.
    """

    clock: Callable[[], datetime]
    faults: tuple[type[Exception], ...]
    slice_steps: int
    fault_wait: float
    timetable: Timetable = field(default_factory=Timetable)
    steps: dict[str, Step] = field(default_factory=dict)
    stop: Event = field(default_factory=Event)
    _lock: Lock = field(default_factory=Lock)
    _under_way: int = 0

    def register(self) -> None:
        """Hand the workflows to the library, before it is launched."""

        # The library wants plain functions.
        def batch(name: str, key: str, run: int, part: int, cursor: str) -> None:
            self._batch(name, key, run, part, cursor)

        def scan(name: str) -> None:
            with self._counted():
                DBOS.run_step({"name": "scan"}, self._scanned, name)

        # However often a process died over it, a batch is never given up.
        DBOS.workflow(name="batch", max_recovery_attempts=None)(batch)
        DBOS.workflow(name="scan", max_recovery_attempts=None)(scan)

    def let_finish(self) -> None:
        """Wait for what is under way, but not for ever."""
        deadline = time.monotonic() + LAST_STEPS_S
        while self._under_way and time.monotonic() < deadline:
            time.sleep(_LOOK_S)
        # Time to note down how the last one ended; if it does not do, that is found out later.
        time.sleep(_LOOK_S)

    def _batch(self, name: str, key: str, run: int, part: int, cursor: str) -> None:
        wait = 0.0
        with self._counted():
            for _ in range(self.slice_steps):
                following, wait, leaves = DBOS.run_step(
                    {"name": "step"}, self._stepped, name, key, cursor
                )
                if following is None:
                    return
                cursor = following
                if wait or leaves:
                    break
            more = options("batch", f"batch:{name}:{key}:{run}:{part + 1}")
            if wait:
                more["delay_seconds"] = wait
            DBOS.enqueue_workflow_with_options(more, name, key, run, part + 1, cursor)

    def _stepped(self, name: str, key: str, cursor: str) -> tuple[str | None, float, bool]:
        """The cursor to go on with, the pause before that [s], and whether we are to stop."""
        try:
            outcome = moved(cursor, _known(self.steps, name)(key, cursor))
        except self.faults as error:
            log.error("a step of %s failed, trying again: %s", name, type(error).__name__)
            outcome = Wait(self.fault_wait)
        if isinstance(outcome, Wait):
            return cursor, max(outcome.seconds, LEAST_WAIT_S), self.stop.is_set()
        return outcome, 0.0, self.stop.is_set()

    def _scanned(self, name: str) -> None:
        try:
            _, scan = _known(self.timetable.scans, name)
            scan(self.clock())
        except self.faults as error:
            log.error("scan %s failed: %s", name, type(error).__name__)

    @contextmanager
    def _counted(self) -> Iterator[None]:
        with self._lock:
            self._under_way += 1
        try:
            yield
        finally:
            with self._lock:
                self._under_way -= 1


def _known(jobs: dict[str, T], name: str) -> T:
    if name not in jobs:
        raise JobsUnavailable(f"this process knows no job {name}")
    return jobs[name]
