"""Real processes at one database: killed in the middle of a long batch, and scanning together."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, insert, select

from service.jobs import DurableJobs
from service.storage import Database
from service.storage.tables import outbox, phone

RECIPIENTS = 20_000
STEPS = RECIPIENTS // 400 + 1
"""The last one finds nobody left."""


class Office:
    """A database with many phones, and processes that work at it."""

    def __init__(self, database_url: str, jobs_url: str, folder: Path) -> None:
        self.database, self.jobs_url, self.log = Database(database_url), jobs_url, folder / "log"
        self._arguments = [database_url, jobs_url, str(self.log)]
        self._processes: list[subprocess.Popen[bytes]] = []

    def add_phones(self, count: int) -> None:
        now = datetime.now(UTC)
        rows = [
            {"id": f"p{place:06d}", "number": f"+1000{place:07d}", "created_at": now}
            for place in range(count)
        ]
        with self.database.engine.begin() as connection:
            connection.execute(insert(phone), rows)

    def start_process(self) -> subprocess.Popen[bytes]:
        script = Path(__file__).with_name("at_work.py")
        process = subprocess.Popen([sys.executable, str(script), *self._arguments])
        self._processes.append(process)
        return process

    def lines(self, word: str) -> list[tuple[int, str]]:
        """Process and rest of each line of the log that begins with a word."""
        if not self.log.exists():
            return []
        found = [line.split(" ", 2) for line in self.log.read_text().splitlines()]
        return [(int(pid), " ".join(rest)) for pid, kind, *rest in found if kind == word]

    def written(self) -> int:
        with self.database.engine.connect() as connection:
            return connection.execute(select(func.count()).select_from(outbox)).scalar_one()

    def kill(self, pid: int) -> None:
        process = next(one for one in self._processes if one.pid == pid)
        process.send_signal(signal.SIGKILL)
        process.wait()

    def close(self) -> None:
        for process in self._processes:
            if process.poll() is None:
                process.kill()
                process.wait()
        self.database.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def office(
    request: pytest.FixtureRequest, new_database: Callable[[str], str], tmp_path: Path
) -> Iterator[Office]:
    jobs_url = new_database(request.param)
    database_url = jobs_url
    if request.param == "sqlite":
        database_url = f"sqlite:///{tmp_path / 'service.sqlite3'}"
    made = Office(database_url, jobs_url, tmp_path)
    made.database.migrate()
    yield made
    made.close()


def test_a_batch_survives_whatever_is_killed(office: Office, wait: Any) -> None:
    """Another process goes on; then, with nobody left, the next one that starts does.

    The one that is killed had the step under way, so that one step may be done again, no other.
    """
    office.add_phones(RECIPIENTS)
    first, second = office.start_process(), office.start_process()
    wait(lambda: len(office.lines("up")) == 2, "two processes")
    jobs = DurableJobs(office.jobs_url, lambda: datetime.now(UTC))
    assert jobs.start("plan", "rains") is True
    wait(lambda: office.written() > RECIPIENTS // 5, "a fifth")
    working = office.lines("step")[-1][0]
    office.kill(working)
    (other,) = {first.pid, second.pid} - {working}
    assert jobs.start("plan", "rains") is False
    wait(lambda: office.lines("step")[-1][0] == other, "the other taking over")
    wait(lambda: office.written() > RECIPIENTS // 2, "half")
    office.kill(other)
    at_death = office.written()
    assert at_death < RECIPIENTS
    third = office.start_process()
    wait(lambda: office.written() == RECIPIENTS, "all of them")
    wait(lambda: len({rest for _, rest in office.lines("step")}) == STEPS, "the last step")
    done = Counter(rest for _, rest in office.lines("step"))
    assert office.lines("step")[-1][0] == third.pid
    assert sum(done.values()) - len(done) <= 2
    wait(lambda: jobs.start("plan", "rains"), "an end that was noted")
    jobs.close()


def test_of_two_processes_one_does_a_scan(office: Office, wait: Any) -> None:
    began = time.time()
    processes = [office.start_process(), office.start_process()]
    wait(lambda: len(office.lines("often")) >= 4, "four scans")
    for process in processes:
        process.terminate()
    wait(lambda: len(office.lines("end")) == 2, "two that stopped as told")
    assert [process.wait(20) for process in processes] == [0, 0]
    assert len(office.lines("once")) == 1
    periods = int(time.time()) - int(began) + 1
    assert len(office.lines("often")) <= periods
