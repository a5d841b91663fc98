"""Upkeep: how much the water clogs, which task is due on a plot today, and parts for a repair.

Dates are arguments; nothing here knows the clock.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal, get_args

from service.errors import OutOfRange
from service.sizing.csv_table import Row, number, optional_number, parsed, word
from service.sizing.laying import Laying
from service.sizing.tables import table_text

Task = Literal["filter", "walk", "lines", "tank"]
"""What is done again and again, in the order of the calendar."""
TASKS: tuple[Task, ...] = get_args(Task)
Hazard = Literal["slight", "moderate", "severe"]
Repair = Literal["cut", "piece", "end", "tap", "main", "filter", "valve", "hole"]
"""What was broken or lost: a line cut through, a piece of line gone, a line end, a take-off, the
submain cut, the filter, the valve, a hole in the wrong place."""
REPAIRS: tuple[Repair, ...] = get_args(Repair)

OPEN_WATER = "open_water"
"""Of a river, a pond or an open well."""
ALWAYS = "usual"
CLOGGING_COLUMNS = (
    "parameter", "unit", "moderate_from", "severe_from", "sign", "seen_at", "source", "status",
)  # fmt: skip
TASK_COLUMNS = ("task", "when", "every_days", "source", "status")


@dataclass(frozen=True, slots=True)
class Clogging:
    """How much of one thing in the water clogs drippers.

    Attributes
    ----------
    parameter, unit : str
        What is measured.
    moderate_from, severe_from : float
        Where the hazard becomes moderate and severe.
    sign : str
        What people see, smell or taste of it; empty when nothing.
    seen_at : float or None
        About how much shows that sign.
    """

    parameter: str
    unit: str
    moderate_from: float
    severe_from: float
    sign: str
    seen_at: float | None

    def hazard(self, value: float) -> Hazard:
        """Return the class of a measured value, 0 or more.

        Raises
        ------
        OutOfRange
            Below 0, or no number.
        """
        if not value >= 0.0:
            raise OutOfRange(f"{self.parameter} [{self.unit}]", value, 0.0, float("inf"))
        if value > self.severe_from:
            return "severe"
        return "moderate" if value >= self.moderate_from else "slight"


def read_clogging(text: str, file_name: str) -> tuple[Clogging, ...]:
    """Rows of a table of clogging hazards; TextFileError with each row that cannot be used."""
    return parsed(text, file_name, CLOGGING_COLUMNS, _clogging)


def _clogging(row: Row) -> Clogging:
    moderate = number(row, "moderate_from", 0, 1e6)
    word(row, "source")
    word(row, "status")
    sign = row["sign"].strip()
    seen_at = optional_number(row, "seen_at", 0, 1e6)
    if bool(sign) != (seen_at is not None):
        raise ValueError("sign and seen_at belong together")
    return Clogging(
        parameter=word(row, "parameter"),
        unit=word(row, "unit"),
        moderate_from=moderate,
        severe_from=number(row, "severe_from", moderate, 1e6),
        sign=sign,
        seen_at=seen_at,
    )


@cache
def clogging_table() -> tuple[Clogging, ...]:
    """The table that comes with the package."""
    return read_clogging(table_text("water_clogging.csv"), "water_clogging.csv")


def hazard_of_sign(sign: str) -> Hazard:
    """Return how much water clogs that shows a sign; slight when it shows none of the table."""
    for row in clogging_table():
        if row.sign and row.sign == sign and row.seen_at is not None:
            return row.hazard(row.seen_at)
    return "slight"


@dataclass(frozen=True, slots=True)
class Interval:
    """How often a task comes round, under a condition."""

    task: Task
    when: str
    every_days: int


def read_intervals(text: str, file_name: str) -> tuple[Interval, ...]:
    """Rows of a table of tasks; TextFileError with each row that cannot be used."""
    return parsed(text, file_name, TASK_COLUMNS, _interval)


def _interval(row: Row) -> Interval:
    if row["task"] not in TASKS:
        raise ValueError(f"task must be one of {', '.join(TASKS)}, not {row['task']!r}")
    word(row, "status")
    return Interval(row["task"], word(row, "when"), int(number(row, "every_days", 1, 366)))


@cache
def intervals() -> tuple[Interval, ...]:
    """The table that comes with the package."""
    return read_intervals(table_text("upkeep_tasks.csv"), "upkeep_tasks.csv")


def every_days(task: Task, sign: str = "", *, open_water: bool = False) -> int:
    """Days after which a task is due again [days].

    Parameters
    ----------
    task : str
        One of `TASKS`.
    sign : str
        What the water shows: brown, eggs, crust, green, cloudy; anything else is clear water.
    open_water : bool
        Whether it comes from a river, a pond or an open well.
    """
    true = {ALWAYS, sign, hazard_of_sign(sign)} | ({OPEN_WATER} if open_water else set())
    return min(row.every_days for row in intervals() if row.task == task and row.when in true)


@dataclass(frozen=True, slots=True)
class Due:
    """A task with the days until it is due [days]: 0 today, below 0 overdue."""

    task: Task
    in_days: int


def due_tasks(
    done: Mapping[Task, datetime.date],
    today: datetime.date,
    sign: str = "",
    *,
    open_water: bool = False,
) -> tuple[Due, ...]:
    """Every task, the most overdue first; what was never done is due today.

    A day later than today, such as a wrong clock leaves behind, counts as today.
    """
    found = []
    for task in TASKS:
        last = done.get(task)
        wait = every_days(task, sign, open_water=open_water)
        left = 0 if last is None else wait - max(0, (today - last).days)
        found.append(Due(task, left))
    return tuple(sorted(found, key=lambda due: due.in_days))


def repair_items(laying: Laying, what: Repair) -> tuple[tuple[str, int], ...]:
    """Parts that a repair takes: keys of the parts table with their sizes, and how many.

    A piece of line or pipe that is missing comes from what was left over.
    """
    line = "tape" if laying.tape else "line"
    take_off = "tape_take_off" if laying.tape else "take_off"
    items: Mapping[Repair, Sequence[tuple[str, int]]] = {
        "cut": ((f"{line}_joiner_{laying.line}", 1),),
        "piece": ((f"{line}_joiner_{laying.line}", 2),),
        "end": ((f"{line}_end_{laying.line}", 1),),
        "tap": ((f"{take_off}_{laying.line}", 1),),
        "main": ((f"pipe_joiner_{laying.pipe}", 1),),
        "filter": ((f"screen_filter_{laying.thread}", 1),),
        "valve": ((f"valve_{laying.thread}", 1), ("thread_tape", 1)),
        "hole": (("goof_plug", 1),),
    }
    return tuple(items[what])
