"""The faults this project raises.

A person who types gets a sentence (see `dialogue` and `text`), never one of these. A programmer
or somebody with a card file gets an exception that names the thing, its value and what was allowed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class LitrelineError(Exception):
    """Base of all faults raised by this project on purpose."""


class OutOfRange(LitrelineError, ValueError):
    """A number outside the range in which a formula or table holds."""

    def __init__(
        self, what: str, value: float, low: float, high: float, authority: str = ""
    ) -> None:
        self.what, self.value, self.low, self.high, self.authority = (
            what,
            value,
            low,
            high,
            authority,
        )
        tail = f" ({authority})" if authority else ""
        super().__init__(f"{what} {value:g} is outside {low:g}..{high:g}{tail}")


class NotConverged(LitrelineError, ArithmeticError):
    """A calculation that did not settle; `what` says which card or network."""

    def __init__(self, what: str, residual: float) -> None:
        self.what, self.residual = what, residual
        super().__init__(f"no solution found for {what}: residual {residual:g}")


MISSING = "it is missing"


@dataclass(frozen=True, slots=True)
class FieldProblem:
    """One thing wrong with a field: its dotted name, the value given, what is allowed.

    Of a field that is missing, `allowed` begins with `MISSING`.
    """

    field: str
    value: object
    allowed: str

    def __str__(self) -> str:
        if self.allowed.startswith(MISSING):
            return f"{self.field}: {self.allowed}"
        return f"{self.field}: {self.value!r} is not allowed; {self.allowed}"


class CardError(LitrelineError, ValueError):
    """A plot card that cannot be used; carries every problem found, not only the first."""

    def __init__(self, problems: Sequence[FieldProblem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


@dataclass(frozen=True, slots=True)
class LineProblem:
    """Something wrong in a text file: where, and what to do about it."""

    file: str
    line: int
    message: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.message}"


class TextFileError(LitrelineError, ValueError):
    """A flow file, table or catalogue that cannot be used; every problem with file and line."""

    def __init__(self, problems: Sequence[LineProblem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))
