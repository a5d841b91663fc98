"""Reading the rows of a CSV table, with every problem named by file and line."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from math import isfinite
from typing import TypeVar

from service.errors import LineProblem, TextFileError

T = TypeVar("T")
Row = Mapping[str, str]


def rows_of(text: str, file_name: str, columns: Sequence[str]) -> Iterator[tuple[int, Row]]:
    """Line number and row of a table that must have exactly `columns`.

    Raises
    ------
    TextFileError
        The first line differs, or a row is longer or shorter than it.
    """
    table = csv.DictReader(io.StringIO(text.removeprefix("\ufeff")), restkey="")
    if tuple(table.fieldnames or ()) != tuple(columns):
        message = f"the first line must be {','.join(columns)}"
        raise TextFileError([LineProblem(file_name, 1, message)])
    for row in table:
        if None in row.values() or "" in row:
            message = f"this row has another number of values than {len(columns)}"
            raise TextFileError([LineProblem(file_name, table.line_num, message)])
        yield table.line_num, row


def parsed(
    text: str, file_name: str, columns: Sequence[str], parse: Callable[[Row], T]
) -> tuple[T, ...]:
    """Each row through `parse`, whose ValueError becomes a problem at that line.

    Raises
    ------
    TextFileError
        With every row that could not be used.
    """
    found: list[T] = []
    problems: list[LineProblem] = []
    for line, row in rows_of(text, file_name, columns):
        try:
            found.append(parse(row))
        except ValueError as fault:
            problems.append(LineProblem(file_name, line, str(fault)))
    if problems:
        raise TextFileError(problems)
    return tuple(found)


def number(row: Row, column: str, low: float, high: float) -> float:
    """Value of a column as a number within low..high; ValueError says which and why not."""
    value = optional_number(row, column, low, high)
    if value is None:
        raise ValueError(f"{column} is empty")
    return value


def optional_number(row: Row, column: str, low: float, high: float) -> float | None:
    """As `number`, None where the column is empty."""
    text = row[column].strip()
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        hint = "; write a decimal point, not a comma" if "," in text else ""
        raise ValueError(f"{column}: {text!r} is not a number{hint}") from None
    if not (isfinite(value) and low <= value <= high):
        raise ValueError(f"{column}: {text} is outside {low:g}..{high:g}")
    return value


def word(row: Row, column: str) -> str:
    """Value of a column that must not be empty."""
    text = row[column].strip()
    if not text:
        raise ValueError(f"{column} is empty")
    return text
