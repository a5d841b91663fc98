"""How fast a seasonal message is prepared for many, each with the minutes of their own plot.

Everything goes through the storage, a SQLite file by default: farmers are read by pages, plots are
reckoned, texts written and put into the outbox, what became of each is kept, in transactions of
300. A stand-in for the sender takes the texts out again between two batches, off the clock. Then
a scan for weekly texts, twice: once when all are due, once when all were queued before.

    .venv/bin/python tests/benchmarks/bench_outreach.py --recipients 10000 100000
"""

from __future__ import annotations

import argparse
import itertools
import multiprocessing
import random
import resource
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import text

from service.advice import Context, Planner
from service.outreach import Place, Places, Reminders, Seasonal
from service.records import Consent, Phone, Plot, SeasonalMessage
from service.storage import Database
from service.text.catalogues import Catalogues
from service.wiring.files import catalogue_files
from service.wiring.keys import new_id
from service.wiring.tables import load_tables

NOW = datetime(2026, 11, 23, 9, 0, tzinfo=UTC)
TEXTS = {
    "en": "Dry spell from {date}: your {crop} needs {litres} L a day. Valve open {minutes} min, "
    "{fills} x the tank.",
    "sw": "Ukame kuanzia {date}: {crop} inahitaji lita {litres} kwa siku. Fungua dakika {minutes}.",
}
CROPS = ("tomato", "onion", "cabbage", "kale", "okra", "sweet_pepper")
WHOLE = 1000
"""Rows a transaction when farmers are settled."""


def plots(count: int, layouts: int, readable: bool, rng: random.Random) -> Iterator[dict[str, Any]]:
    """Answers of plots that lie, on so many different layouts; crop, age and place vary beside."""
    made = [_layout(rng, readable) for _ in range(min(layouts, count))]
    for _ in range(count):
        yield {
            **made[rng.randrange(len(made))],
            "district": rng.choice(("velmora", "kotsindo")),
            "crop": rng.choice(CROPS),
            "weeks_since_planting": rng.randrange(1, 12),
            "weeks_told_on": "2026-11-20",
        }


def _layout(rng: random.Random, readable: bool) -> dict[str, Any]:
    return {
        "laid": "told",
        "laid_lines": rng.randrange(4, 25),
        "laid_line_length_m": round(rng.uniform(8, 40), 1),
        "tank_volume_l": rng.choice((200, 500, 1000, 2000)),
        "stand_height_m": rng.choice((0.5, 1.0, 1.5, 2.0, 2.5)),
        "laid_spacing_m": rng.choice((0.75, 1.0, 1.2)),
        **({"main_pipe": rng.choice(("25", "32"))} if readable else {}),
    }


def settle(database: Database, given: Iterator[dict[str, Any]]) -> None:
    """Keep phones, plots and consents."""
    numbers = itertools.count()
    while rows := list(itertools.islice(given, WHOLE)):
        with database.unit_of_work() as work:
            for answers in rows:
                phone, number = new_id(), next(numbers)
                language = "sw" if number % 3 else "en"
                work.phones.add(Phone(phone, f"+1000{number:08d}", language, NOW))
                work.plots.add(Plot(new_id(), phone, NOW, NOW, answers=answers))
                # One in twenty never agreed.
                agreed = number % 20 != 0
                work.consents.add(Consent(new_id(), phone, NOW, agreed, "start", "sms"))
            work.commit()


def sent(database: Database) -> None:
    """Take every text out of the outbox, as a sender would."""
    with database.engine.begin() as connection:
        connection.execute(
            text("UPDATE outbox SET state = 'accepted', open = :no WHERE open"), {"no": False}
        )


def kept(database: Database, file: Path) -> int:
    """Size of the database [B], with nothing left in its journal."""
    with database.engine.connect() as connection:
        connection.execute(text("PRAGMA wal_checkpoint(TRUNCATE)"))
    return file.stat().st_size


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


@dataclass
class Watch:
    """Seconds by the clock and of this process's own work; other people may share the machine."""

    clock: float = 0.0
    work: float = 0.0

    def time(self, run: Callable[[], Any]) -> Any:
        """Run something on the watch."""
        clock, work = time.perf_counter(), time.process_time()
        found = run()
        self.clock += time.perf_counter() - clock
        self.work += time.process_time() - work
        return found

    def told(self, count: int) -> str:
        """Return both, and rows a second of work."""
        return f"{self.clock:.1f} s ({self.work:.1f} s of work, {count / self.work:.0f} a second)"


def prepared(database: Database, given: dict[str, Any], count: int) -> tuple[Watch, list[float]]:
    """Time of all batches, and peak memory after each quarter [MB]."""
    seasonal, memory, done, watch = Seasonal(**given), [], 0, Watch()
    message = SeasonalMessage("m1", "Dry spell", NOW, "officer", texts=TEXTS)
    with database.unit_of_work() as work:
        work.seasonals.add(replace(message, state="approved"))
        work.commit()
    cursor: Any = ""
    while True:
        cursor = watch.time(partial(seasonal.continue_batch, "m1", cursor, NOW))
        done += 300
        if done >= count * (len(memory) + 1) / 4 and len(memory) < 4:
            memory.append(peak_mb())
        if cursor is None:
            return watch, memory
        assert isinstance(cursor, str), cursor
        sent(database)


def scanned(given: dict[str, Any]) -> tuple[Watch, Watch]:
    """Time of a scan when every text is due, and of one when all were queued before."""
    reminders, first, again = Reminders(**given), Watch(), Watch()
    first.time(lambda: reminders.scan(NOW))
    again.time(lambda: reminders.scan(NOW + timedelta(minutes=15)))
    return first, again


def run(count: int, layouts: int, readable: bool, scans: bool, result: Any) -> None:
    """One run in a process of its own, so that its memory is its own."""
    tables, catalogues = load_tables(None, None).tables, Catalogues(catalogue_files())
    planner = Planner(tables)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "bench.sqlite3"
        database = Database(f"sqlite:///{file}")
        database.migrate()
        settle(database, plots(count, layouts, readable, random.Random(2026)))
        context: Callable[[datetime], Context] = lambda now: Context(planner, now.date())  # noqa: E731
        given = {
            "unit_of_work": database.unit_of_work,
            "context_for": context,
            "translate": catalogues.translate,
            "new_id": new_id,
            "places": Places(Place(UTC)),
            "language": "en",
        }
        settled = kept(database, file)
        watch, memory = prepared(database, given, count)
        queued = kept(database, file) - settled
        scan = scanned(given) if scans else None
        result.put((watch, memory, settled / count, queued / count, scan))
        database.close()


def told(count: int, layouts: int, readable: bool, scans: bool) -> None:
    result: Any = multiprocessing.Queue()
    process = multiprocessing.Process(target=run, args=(count, layouts, readable, scans, result))
    process.start()
    watch, memory, settled, queued, scan = result.get()
    process.join()
    quarters = " ".join(f"{each:.0f}" for each in memory)
    pipes = "size known" if readable else "size unknown"
    print(
        f"{count} recipients, {min(layouts, count)} layouts, {pipes}: {watch.told(count)}; "
        f"peak memory by quarters {quarters} MB; {settled:.0f} B a farmer, {queued:.0f} B a text",
        flush=True,
    )
    if scan:
        first, again = scan
        print(
            f"  weekly scan, all due: {first.told(count)}; again: {again.told(count)}", flush=True
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    parser.add_argument("--recipients", type=int, nargs="+", default=[10_000, 100_000])
    parser.add_argument("--layouts", type=int, default=1000, help="different plots, as laid")
    parser.add_argument("--unreadable", action="store_true", help="nobody knows the pipe's size")
    parser.add_argument("--no-scans", action="store_true", help="leave the weekly scans out")
    given = parser.parse_args()
    for count in given.recipients:
        told(count, given.layouts, not given.unreadable, not given.no_scans)


if __name__ == "__main__":
    main()
