"""The engine for jobs, made from the settings, and what it is given to do."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import TypeAlias

from sqlalchemy import make_url

from service.channels import age
from service.errors import LitrelineError
from service.jobs import DurableJobs, Jobs, Wait
from service.jobs.port import Outcome
from service.outreach import Scan
from service.outreach import Wait as LaterOn
from service.settings import SettingError, Settings
from service.storage import DATABASE_FAULTS
from service.wiring.build import Service
from service.wiring.outreach import make_outreach

log = logging.getLogger("litreline.work")
UNDER_WAY = ("approved", "running", "paused")
"""States of a seasonal message that has work to do, now or later."""

Registration: TypeAlias = Callable[[Jobs, Service, Settings], None]
"""Gives an engine scans and batches, by `every` and `batch`."""

SEASONAL = "seasonal"
"""The batch that sends a seasonal message; its key is the message's id."""
LOOK_EVERY = timedelta(minutes=15)
GO_ON_EVERY = timedelta(minutes=1)
TIDY_EVERY = timedelta(days=1)


def register_outreach(jobs: Jobs, service: Service, settings: Settings) -> None:
    """Weekly texts, questions whether it worked, and seasonal messages."""
    outreach = make_outreach(settings, service)

    def step(key: str, cursor: str) -> Outcome:
        now = service.clock()
        done = outreach.seasonal.continue_batch(key, cursor, now)
        if isinstance(done, LaterOn):
            return Wait(max(1.0, (done.until - now).total_seconds()))
        return done

    def go_on(now: datetime) -> None:
        # Whoever let a message go out may have died before the batch was begun.
        with service.database.unit_of_work() as work:
            under_way = [one.id for one in work.seasonals.all() if one.state in UNDER_WAY]
        for seasonal_id in under_way:
            jobs.start(SEASONAL, seasonal_id)

    jobs.every("reminders", LOOK_EVERY, lambda now: told("reminders", outreach.reminders.scan(now)))
    jobs.every(
        "did-it-work", LOOK_EVERY, lambda now: told("questions", outreach.follow_ups.scan(now))
    )
    jobs.batch(SEASONAL, step)
    jobs.every("seasonal-go-on", GO_ON_EVERY, go_on)


def told(what: str, scan: Scan) -> None:
    """Log what a scan did, in numbers only."""
    if scan.queued:
        log.info("%s queued: %d of %d plots", what, scan.queued, scan.looked_at)


def register_tidying(jobs: Jobs, service: Service, settings: Settings) -> None:
    """Old messages and conversations are deleted once a day."""

    def tidy(now: datetime) -> None:
        age(service.database.unit_of_work, now, settings.keep)

    jobs.every("tidy", TIDY_EVERY, tidy)


REGISTRATIONS: tuple[Registration, ...] = (register_outreach, register_tidying)
"""Every scan and batch of this service. All processes must register alike, so it stands here."""


def make_jobs(settings: Settings, service: Service) -> DurableJobs:
    """Return an engine that knows every scan and batch; it runs nothing yet.

    With it a process that only wants a batch begun calls `start`.

    Raises SettingError for a database that cannot hold jobs.
    """
    faults = (*DATABASE_FAULTS, LitrelineError)
    jobs = DurableJobs(jobs_url(settings.database_url), service.clock, faults)
    for register in REGISTRATIONS:
        register(jobs, service, settings)
    return jobs


def jobs_url(database_url: str) -> str:
    """Return where the engine keeps its notes.

    That is a schema of its own in the same PostgreSQL database. Beside a SQLite file it is a file
    of its own: in ours, each of its many small writes would make a caller wait.

    Raises SettingError for a SQLite database that is no file.
    """
    url = make_url(database_url)
    if url.get_backend_name() != "sqlite":
        return database_url
    if not url.database or url.database == ":memory:" or url.database.startswith("file:"):
        raise SettingError("LITRELINE_DATABASE_URL", database_url, "a SQLite file, to keep jobs")
    path = Path(url.database)
    return f"sqlite:///{path.with_name(f'{path.stem}-jobs{path.suffix}')}"
