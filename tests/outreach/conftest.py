"""A village: phones with plots, who agreed to what, and what stands in the outbox for them."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import delete

from service.advice import Context
from service.outreach import Place, Places
from service.records import Consent, Message, Phone, Plot, ReminderChoice, UnitOfWork
from service.storage import Database, MemoryStore
from service.storage.tables import metadata
from service.wiring.tables import load_tables

NAIROBI = ZoneInfo("Africa/Nairobi")
LAID = {
    "district": "kotsindo",
    "crop": "tomato",
    "weeks_since_planting": 8,
    "weeks_told_on": "2026-11-23",
    "tank_volume_l": 500,
    "stand_height_m": 1.5,
    "laid": "told",
    "laid_lines": 10,
    "laid_line_length_m": 20,
    "main_pipe": "32",
}
"""A plot that lies: ten lines of 20 m, tomato planted on 28 September 2026."""
MONDAY = datetime(2026, 11, 23, 7, 0, tzinfo=NAIROBI)
"""The usual hour of the weekly text, in the zone of the village."""


@pytest.fixture
def laid() -> dict[str, object]:
    return dict(LAID)


@pytest.fixture
def monday() -> datetime:
    return MONDAY


@pytest.fixture
def places() -> Places:
    return Places(Place(NAIROBI))


@pytest.fixture(scope="session")
def tables() -> Any:
    return load_tables(None, None).tables


@pytest.fixture
def context_for(planner: Any) -> Callable[[datetime], Context]:
    return lambda moment: Context(planner, moment.date(), helpline="0800 555")


@pytest.fixture
def context_on(context_for: Callable[[datetime], Context]) -> Callable[[date], Context]:
    return lambda day: context_for(datetime.combine(day, datetime.min.time(), UTC))


@pytest.fixture
def sqlite_url(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path / 'outreach.sqlite3'}"


@pytest.fixture(params=["memory", "sqlite", "postgresql"])
def unit_of_work(request: pytest.FixtureRequest) -> Iterator[Callable[[], UnitOfWork]]:
    if request.param == "memory":
        yield MemoryStore().unit_of_work
        return
    database = Database(request.getfixturevalue(f"{request.param}_url"))
    database.migrate()
    with database.engine.begin() as connection:
        for table in reversed(metadata.sorted_tables):
            if table.name not in ("schema_version", "alembic_version"):
                connection.execute(delete(table))
    yield database.unit_of_work
    database.close()


class Village:
    """Farmers of one store."""

    def __init__(self, unit_of_work: Callable[[], UnitOfWork]) -> None:
        self.unit_of_work = unit_of_work
        self.numbers = itertools.count(1)

    def new_id(self) -> str:
        return f"id{next(self.numbers):05d}"

    def farmer(
        self,
        name: str = "a",
        answers: Any = None,
        *,
        language: str | None = "en",
        consent: bool | None = True,
        choice: tuple[int, int] | None = None,
        number: str | None = None,
        plot_id: str = "",
        known: datetime = datetime(2026, 9, 28, 9, tzinfo=UTC),
    ) -> None:
        """Settle somebody: phone f-NAME, plot p-NAME."""
        phone_id = f"f-{name}"
        with self.unit_of_work() as work:
            given = number or f"+1000555{next(self.numbers):04d}"
            work.phones.add(Phone(phone_id, given, language, known))
            plot = LAID if answers is None else answers
            work.plots.add(Plot(plot_id or f"p-{name}", phone_id, known, known, answers=plot))
            if choice:
                hour, weekday = choice
                work.choices.put(ReminderChoice(phone_id, hour, weekday, known))
            work.commit()
        if consent is not None:
            self.says(name, consent)

    def says(self, name: str, given: bool, at: datetime = MONDAY) -> None:
        """Somebody sends START or STOP."""
        with self.unit_of_work() as work:
            words = "start" if given else "stop"
            work.consents.add(Consent(self.new_id(), f"f-{name}", at, given, words, "sms"))
            work.commit()

    def tells(self, name: str, **answers: object) -> None:
        """Somebody tells more of the plot."""
        with self.unit_of_work() as work:
            plot = work.plots.get(f"p-{name}")
            assert plot
            work.plots.save(replace(plot, answers={**plot.answers, **answers}))
            work.commit()

    def texts(self, name: str = "a") -> list[Message]:
        """Return what stands in the outbox for somebody, the oldest first."""
        with self.unit_of_work() as work:
            return list(reversed(work.outbox.of_phone(f"f-{name}", 50)))


@pytest.fixture
def village(unit_of_work: Callable[[], UnitOfWork]) -> Village:
    return Village(unit_of_work)


@pytest.fixture
def handed_in(village: Any, context_for: Any, catalogues: Any, places: Places) -> dict[str, Any]:
    """What reminders and seasonal messages are both made with."""
    return {
        "unit_of_work": village.unit_of_work,
        "context_for": context_for,
        "translate": catalogues.translate,
        "new_id": village.new_id,
        "places": places,
        "language": "en",
    }
