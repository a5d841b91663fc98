"""The engine on a SQLite file or in PostgreSQL, through the library `dbos`.

Why this one, and why so little of it is used, stands in docs/decisions/18-engine.md. Its own
schedules sleep through a clock that jumps and its recovery waits for a process of the same name;
so periods are counted in `periods`, and the dead are noticed in `places`.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path
from threading import Event, Lock

from dbos import DBOS, DBOSClient, DBOSConfig, WorkflowHandle
from sqlalchemy import make_url
from sqlalchemy.exc import SQLAlchemyError

from service.jobs.library_log import quiet
from service.jobs.notes import Notes
from service.jobs.places import FilePlaces, Places, ServerPlaces
from service.jobs.port import Scan, Step, require_key, require_name
from service.jobs.workflows import QUEUES, VERSION, JobsUnavailable, Workflows, options

APPLICATION = "litreline"
SCHEMA = "litreline_jobs"
"""Where the engine keeps its tables in PostgreSQL."""
AT_ONCE = 2
"""Scans, and batches, that one process works at."""
SLICE = 50
"""Steps under one workflow, which reads them all again after a death; then a new one goes on."""
ACTIVE = ["ENQUEUED", "PENDING", "DELAYED"]
DONE = ["SUCCESS", "ERROR", "CANCELLED"]
KEPT = 10_000
"""How much of what is done is remembered; a number and no time, for a clock may jump."""
TIDY_EVERY = timedelta(hours=1)
TIDY_MOST = 1000
POLL_S, FAULT_WAIT_S = 1.0, 5.0
LOOK_EVERY = 5
"""Polls between two looks for processes that died."""

log = logging.getLogger("litreline.jobs")


class DurableJobs:
    """Scans and batches that survive a kill, shared by all processes at one database.

    `url` is a SQLite file of the engine's own or a PostgreSQL database, in which it uses a schema
    of its own. Faults of the kinds in `faults` are tried again; mistakes end what they happened
    in. One engine may run in a process at a time.
    """

    def __init__(
        self,
        url: str,
        clock: Callable[[], datetime],
        faults: tuple[type[Exception], ...] = (),
        *,
        slice_steps: int = SLICE,
        poll: float = POLL_S,
        fault_wait: float = FAULT_WAIT_S,
        kept: int = KEPT,
    ) -> None:
        self._url, self._clock = _plain_url(url), clock
        self._poll, self._fault_wait, self._kept = poll, fault_wait, kept
        self._work = Workflows(clock, faults, slice_steps, fault_wait)
        self._opened: DBOSClient | None = None
        self._opening = Lock()
        self.every("forget-done-jobs", TIDY_EVERY, self._tidy)

    def every(self, name: str, period: timedelta, scan: Scan) -> None:
        self._work.timetable.add(name, period, scan)

    def batch(self, name: str, step: Step) -> None:
        self._work.steps[require_name(name)] = step

    def described(self) -> tuple[str, ...]:
        batches = (f"batch {name}" for name in self._work.steps)
        return (*self._work.timetable.described(), *batches)

    def start(self, name: str, key: str) -> bool:
        prefix = f"batch:{require_name(name)}:{require_key(key)}:"
        client = self._client()
        if _runs(client, prefix, status=ACTIVE, limit=1):
            return False
        run = max((int(one.split(":")[3]) for one in _runs(client, prefix)), default=0) + 1
        # Two that begin it at once choose the same id, and the engine keeps an id once.
        client.enqueue(options("batch", f"{prefix}{run}:0"), name, key, run, 0, "")
        return True

    def run(self, stop: Event) -> None:
        """Raises JobsUnavailable when our place was lost to another process."""
        self._work.stop = stop
        self._client()
        places = _places(self._url)
        number = places.take()
        if number is None:
            raise JobsUnavailable("too many processes work at this database")
        try:
            self._launch(number)
            log.info("working at place %d", number)
            self._until_told(stop, places, number)
        finally:
            self._work.let_finish()
            DBOS.destroy(destroy_registry=True)
            # Only now may another take up what is unfinished here.
            places.leave()

    def close(self) -> None:
        if self._opened is not None:
            self._opened.destroy()
            self._opened = None

    def _client(self) -> DBOSClient:
        with self._opening:
            if self._opened is None:
                quiet()
                DBOS.migrate(self._url, schema=SCHEMA)
                self._opened = DBOSClient(
                    system_database_url=self._url,
                    dbos_system_schema=SCHEMA,
                    serializer=Notes(),
                    application_name=APPLICATION,
                    retry_connection_errors=False,
                )
            return self._opened

    def _launch(self, number: int) -> None:
        for queue in QUEUES.values():
            self._client().register_queue(
                queue, worker_concurrency=AT_ONCE, polling_interval_sec=self._poll
            )
        DBOS(config=_config(self._url, number, self._poll))
        quiet()
        self._work.register()
        DBOS.launch()

    def _until_told(self, stop: Event, places: Places, number: int) -> None:
        for tick in count():
            if stop.is_set():
                return
            try:
                self._offer()
                if tick % LOOK_EVERY == 0:
                    if not places.held():
                        raise JobsUnavailable(f"place {number} was lost to another process")
                    self._take_over(places, number)
            except SQLAlchemyError as error:
                log.error("the engine's database failed: %s", type(error).__name__)
                stop.wait(self._fault_wait)
            stop.wait(self._poll)

    def _offer(self) -> None:
        """Offer the engine what is due; it keeps one scan of each name and period."""
        timetable = self._work.timetable
        for name, number in list(timetable.due(self._clock())):
            wanted = options("scan", f"scan:{name}:{number}")
            # One that is still busy is not joined by the next.
            wanted["deduplication_id"] = name
            wanted["duplication_policy"] = "return-existing"
            handle: WorkflowHandle[None] = self._client().enqueue(wanted, name)
            if handle.get_workflow_id() == wanted["workflow_id"]:
                timetable.offered(name, number)

    def _take_over(self, places: Places, own: int) -> None:
        """Put back into its queue what a process held that died and never came back."""
        client = self._client()
        listed = client.list_workflows(status="PENDING", load_input=False, load_output=False)
        for executor in {one.executor_id for one in listed if one.executor_id} - {_executor(own)}:
            with places.free(int(executor.removeprefix("place-"))) as free:
                if not free:
                    continue
                for one in client.list_workflows(
                    status="PENDING", executor_id=executor, load_input=False, load_output=False
                ):
                    log.warning("taking over from %s: %s", executor, one.workflow_id)
                    client.resume_workflow(one.workflow_id, queue_name=one.queue_name)

    def _tidy(self, now: datetime) -> None:
        """Forget what was done long ago."""
        client = self._client()
        while done := client.list_workflows(
            status=DONE,
            sort_desc=True,
            offset=self._kept,
            limit=TIDY_MOST,
            load_input=False,
            load_output=False,
        ):
            client.delete_workflows([one.workflow_id for one in done])


def _executor(number: int) -> str:
    return f"place-{number}"


def _config(url: str, number: int, poll: float) -> DBOSConfig:
    return {
        "name": APPLICATION,
        "system_database_url": url,
        "dbos_system_schema": SCHEMA,
        "application_version": VERSION,
        "executor_id": _executor(number),
        "serializer": Notes(),
        # We send our workflows nothing, so nothing has to listen on a connection of its own.
        "use_listen_notify": False,
        "notification_listener_polling_interval_sec": poll,
        "log_level": "WARNING",
        # Nothing leaves this machine: no traces, no logs, no keys of anybody's service.
        "enable_otlp": False,
    }


def _plain_url(url: str) -> str:
    """The URL as the library takes it. Raises JobsUnavailable for one that holds nothing."""
    parsed = make_url(url)
    if parsed.get_backend_name() != "sqlite":
        return parsed.set(drivername="postgresql").render_as_string(hide_password=False)
    if parsed.database in (None, "", ":memory:"):
        raise JobsUnavailable("jobs need a SQLite file or a PostgreSQL database")
    return url


def _places(url: str) -> Places:
    parsed = make_url(url)
    if parsed.get_backend_name() == "sqlite":
        return FilePlaces(Path(parsed.database or ""))
    return ServerPlaces(parsed)


def _runs(
    client: DBOSClient, prefix: str, status: list[str] | None = None, limit: int | None = None
) -> list[str]:
    listed = client.list_workflows(
        workflow_id_prefix=prefix, status=status, limit=limit, load_input=False, load_output=False
    )
    return [one.workflow_id for one in listed]
