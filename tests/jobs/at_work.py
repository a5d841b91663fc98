"""A process of the tests: plans a message to every phone, and scans. Run by test_processes.py."""

from __future__ import annotations

import os
import secrets
import signal
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event

from sqlalchemy import select

from service.channels import Letter, Post
from service.jobs import DurableJobs, Outcome
from service.storage import DATABASE_FAULTS, Database
from service.storage.tables import phone

STEP = 400
"""Recipients in a step."""
PHONES = select(phone.c.id).order_by(phone.c.id).limit(STEP)


def main(database_url: str, jobs_url: str, log: Path) -> None:
    database, post, stop = Database(database_url), Post(lambda: secrets.token_hex(16)), Event()

    def note(line: str) -> None:
        with log.open("a") as file:
            file.write(f"{os.getpid()} {line}\n")

    def plan(key: str, cursor: str) -> Outcome:
        note(f"step {cursor or '-'}")
        with database.engine.connect() as connection:
            ids = list(connection.execute(PHONES.where(phone.c.id > cursor)).scalars())
        with database.unit_of_work() as work:
            now = datetime.now(UTC)
            for one in ids:
                text = f"A word for {one}"
                post.put(work, Letter(one, "seasonal", f"seasonal:{key}:{one}", text, "en"), now)
            work.commit()
        return ids[-1] if len(ids) == STEP else None

    jobs = DurableJobs(
        jobs_url, lambda: datetime.now(UTC), DATABASE_FAULTS, slice_steps=10, poll=0.1
    )
    jobs.batch("plan", plan)
    jobs.every("often", timedelta(seconds=1), lambda now: note("often"))
    jobs.every("once", timedelta(days=36500), lambda now: note("once"))
    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    note("up")
    jobs.run(stop)
    jobs.close()
    database.close()
    note("end")


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], Path(sys.argv[3]))
