"""The worker in a thread of `litreline serve`: scans by the clock and long batches."""

from __future__ import annotations

import logging
from collections.abc import Callable
from threading import Event, Thread

from service.errors import LitrelineError
from service.settings import SettingError, Settings
from service.storage import DATABASE_FAULTS
from service.wiring.build import Service

FAULT_WAIT_S = 10.0
"""How long to wait after the engine failed before it is begun anew [s]."""
END_WITHIN_S = 4.0
"""A step that takes longer when told to stop is left to whoever works next [s]."""

log = logging.getLogger("litreline.work")


def start_worker(settings: Settings, service: Service) -> Callable[[], None]:
    """Start working in a thread of this process; return what ends it.

    Several processes may work at one database: each scan and each step is done by one of them. A
    database that cannot hold jobs, such as one in memory, is told of in the log, and nothing runs.
    """
    stop = Event()
    thread = Thread(target=_work, args=(settings, service, stop), name="worker", daemon=True)
    thread.start()

    def end() -> None:
        stop.set()
        thread.join(END_WITHIN_S)

    return end


def _work(settings: Settings, service: Service, stop: Event) -> None:
    # The engine takes a fifth of a second to load: no caller waits for that here.
    from service.wiring.jobs import make_jobs

    while not stop.is_set():
        try:
            jobs = make_jobs(settings, service)
        except SettingError as error:
            log.error("nothing goes out by the clock: %s", error)
            return
        try:
            jobs.run(stop)
        except (*DATABASE_FAULTS, LitrelineError) as error:
            # Only the kind of fault: the words of a driver may carry a number.
            log.error("working failed, trying again: %s", type(error).__name__)
            stop.wait(FAULT_WAIT_S)
        finally:
            jobs.close()
