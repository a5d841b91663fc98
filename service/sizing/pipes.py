"""Pipes as a shop sells them: the trade size and the bore behind it."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, cast, get_args

from service.errors import LineProblem, TextFileError

PipeUse = Literal["submain", "dripline", "tape"]
COLUMNS = ("name", "outer_mm", "bore_mm", "bore_low_mm", "bore_high_mm", "use", "source")


@dataclass(frozen=True, slots=True)
class PipeSize:
    """One trade size of pipe.

    Attributes
    ----------
    name : str
        As a shop says it, in English: "25 mm pipe".
    outer_mm : float
        Outside diameter [mm]; for tape, whose wall is thin, the trade size.
    bore_mm, bore_low_mm, bore_high_mm : float
        Usual inner diameter, and the narrowest and widest met with [mm].
    use : str
        submain, dripline or tape.
    """

    name: str
    outer_mm: float
    bore_mm: float
    bore_low_mm: float
    bore_high_mm: float
    use: PipeUse


def read_pipes(text: str, file_name: str) -> tuple[PipeSize, ...]:
    """Pipe sizes of a CSV table with the columns `COLUMNS`.

    Raises
    ------
    TextFileError
        A column is missing, a number cannot be read, or low <= bore <= high does not hold; every
        problem is named with its line.
    """
    rows = csv.DictReader(io.StringIO(text))
    if tuple(rows.fieldnames or ()) != COLUMNS:
        message = f"the first line must be {','.join(COLUMNS)}"
        raise TextFileError([LineProblem(file_name, 1, message)])
    pipes: list[PipeSize] = []
    problems: list[LineProblem] = []
    for row in rows:
        try:
            pipes.append(_pipe(row))
        except (ValueError, TypeError) as fault:
            problems.append(LineProblem(file_name, rows.line_num, str(fault)))
    if not pipes and not problems:
        problems.append(LineProblem(file_name, 1, "the table holds no pipe"))
    if problems:
        raise TextFileError(problems)
    return tuple(pipes)


def _pipe(row: dict[str, str]) -> PipeSize:
    outer, bore, low, high = (float(row[column]) for column in COLUMNS[1:5])
    if not 0 < low <= bore <= high < 1000:
        raise ValueError(f"bores must satisfy 0 < low <= bore <= high, not {low}, {bore}, {high}")
    if row["use"] not in get_args(PipeUse):
        raise ValueError(f"use must be one of {', '.join(get_args(PipeUse))}, not {row['use']!r}")
    if not row["name"] or not row["source"]:
        raise ValueError("every pipe needs a name and a source")
    return PipeSize(row["name"], outer, bore, low, high, cast(PipeUse, row["use"]))


def submain_pipes(pipes: Sequence[PipeSize]) -> tuple[PipeSize, ...]:
    """The pipes sold for submains, narrowest first."""
    return tuple(sorted((pipe for pipe in pipes if pipe.use == "submain"), key=lambda p: p.bore_mm))
