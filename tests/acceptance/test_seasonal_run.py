"""A seasonal message to thousands over a bad network, its worker and two senders killed at random.

Nobody is missed and nobody is told twice, each with their own minutes; counted at the network.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import time
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from sqlalchemy import create_engine, make_url, text

from service.gateways.standin import Faults, network_server
from service.records import Consent, Phone, Plot, SeasonalMessage
from service.storage import Database

RECIPIENTS = {"sqlite": 6_000, "postgresql": 20_000}
"""A run of 20,000 on SQLite passes too, and takes as long again as all others of this room."""
KILLS, EVERY_S = 8, 1.5
PATIENCE_S = 240
FAULTS = Faults(loss=0.02, error_503=0.02, timeout_after_delivery=0.01, duplicate=0.01, seed=18)
"""Five of a hundred requests go wrong, and one of a hundred texts comes twice."""
SECRET = "a secret for the network"
NOW = datetime.now(UTC)
LAID = {
    "district": "kotsindo", "laid": "told", "laid_lines": 15, "laid_line_length_m": 20,
    "laid_minutes": 0, "crop": "tomato", "weeks_since_planting": 5, "tank_volume_l": 500,
    "stand_height_m": 1.5, "weeks_told_on": NOW.date().isoformat(),
}  # fmt: skip
SETTINGS = {
    "GATEWAY_SECRET": SECRET,
    "GATEWAY_RATE": "10000",
    "RETRY_SECONDS": "0.2,0.5,1",
    "LEASE_SECONDS": "8",
    "REMINDER_HOURS": "00:00-23:59",
    "REMINDERS_ON_SUNDAY": "yes",
}


@pytest.fixture
def own_postgresql_url(postgresql_url: str) -> str:
    """A database of its own in the server that all rooms share."""
    server = make_url(postgresql_url).set(drivername="postgresql+psycopg")
    name = f"run_{uuid4().hex[:8]}"
    engine = create_engine(server, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    engine.dispose()
    return server.set(database=name, drivername="postgresql").render_as_string(False)


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: Any, tmp_path: Path) -> Iterator[Database]:
    url = f"sqlite:///{tmp_path / 'data' / 'litreline.sqlite3'}"
    if request.param == "postgresql":
        url = request.getfixturevalue("own_postgresql_url")
    (tmp_path / "data").mkdir()
    made = Database(url)
    made.migrate()
    yield made
    made.close()


def recipients(database: Database) -> int:
    """How many it is for."""
    return RECIPIENTS[database.engine.url.get_backend_name()]


def fill(database: Database) -> None:
    """Keep so many farmers with one plot each, and a message that was approved for them."""
    for begin in range(0, recipients(database), 2000):
        numbers = range(begin, begin + 2000)
        with database.unit_of_work() as work:
            work.farmers.add_all(
                [Phone(f"p{n:05}", f"+1000555{n:05}", "en", NOW) for n in numbers],
                [],
                [Plot(f"q{n:05}", f"p{n:05}", NOW, NOW, answers=LAID) for n in numbers],
                [Consent(f"c{n:05}", f"p{n:05}", NOW, True, "yes", "ussd") for n in numbers],
            )
            work.commit()
    with database.unit_of_work() as work:
        words = {"en": "Dry weeks: water {minutes} min a day. {date}"}
        work.seasonals.add(SeasonalMessage("s1", "Dry", NOW, "a1", texts=words, state="approved"))
        work.commit()


class Office:
    """A worker and two senders on one database, and the network that counts."""

    def __init__(self, database: Database, data_dir: Path, command: list[str]) -> None:
        self.database, self.command = database, command
        self.network = network_server(
            "http://127.0.0.1:9", clock=lambda: datetime.now(UTC), secret=SECRET, faults=FAULTS
        )
        self.network.start()
        url = database.engine.url.render_as_string(hide_password=False)
        settings = {**SETTINGS, "DATA_DIR": str(data_dir), "GATEWAY_URL": self.network.url}
        settings["DATABASE_URL"] = url.replace("+psycopg", "")
        self.environ = {**os.environ, **{f"LITRELINE_{k}": v for k, v in settings.items()}}
        self.processes = [self.start(name) for name in ("work", "send", "send")]

    def start(self, name: str) -> tuple[str, subprocess.Popen[bytes]]:
        out = subprocess.DEVNULL
        started = subprocess.Popen(
            [*self.command, name], env=self.environ, start_new_session=True, stdout=out, stderr=out
        )
        return name, started

    def kill(self, place: int) -> None:
        name, process = self.processes[place]
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        self.processes[place] = self.start(name)

    def close(self) -> None:
        for _, process in self.processes:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
        self.network.stop()

    @property
    def summary(self) -> dict[str, int]:
        told: dict[str, int] = self.network.network.summary()
        return told

    def done(self) -> bool:
        """Whether every recipient was judged and every message was taken by the network."""
        with self.database.unit_of_work() as work:
            counts, message = work.outbox.counts(), work.seasonals.get("s1")
        assert message is not None
        settled = set(counts) <= {"accepted", "delivered"}
        return settled and message.planned + message.skipped == recipients(self.database)


@pytest.fixture
def office(database: Database, tmp_path: Path, command: list[str]) -> Iterator[Office]:
    fill(database)
    made = Office(database, tmp_path / "data", command)
    yield made
    made.close()


def test_nobody_is_missed_and_nobody_is_told_twice(office: Office, database: Database) -> None:
    chance, everybody = random.Random(18), recipients(database)
    kills = Counter[str]()
    began = next_kill = time.monotonic()
    while not office.done():
        if sum(kills.values()) < KILLS and time.monotonic() > next_kill + EVERY_S:
            place = chance.randrange(3)
            office.kill(place)
            kills[office.processes[place][0]] += 1
            next_kill = time.monotonic()
        if time.monotonic() > began + PATIENCE_S:
            pytest.fail(f"{office.summary} of {everybody}")
        time.sleep(0.2)
    assert sum(kills.values()) >= 4, "it was over before it was disturbed"
    summary = office.summary
    with database.unit_of_work() as work:
        written = sum(work.outbox.counts().values())
    # The same worker plans the weekly texts that are due today: they count, too.
    assert summary["keys"] == summary["delivered"] == written >= everybody
    assert summary["most_deliveries"] == 1
    for number in range(everybody):
        texts = office.network.network.inbox(f"+1000555{number:05}")
        (told,) = [one for one in texts if one.startswith("Dry weeks")]
        assert " min a day" in told
    with database.unit_of_work() as work:
        progress = work.seasonals.progress("s1")
        message = work.seasonals.get("s1")
    assert sum(progress.values()) == everybody
    assert message is not None
    assert message.planned == everybody
