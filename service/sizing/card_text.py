"""What a card's fields take, and the plain words for what is wrong with one.

Marks on the fields of `card` (`Number`, `Whole`, `Words`, `OneOrTwelve`) carry the range both for
the check and for the sentence, so that the two cannot differ.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, get_args

from pydantic import BaseModel, GetCoreSchemaHandler, ValidationError
from pydantic_core import CoreSchema, ErrorDetails, core_schema

from service.errors import MISSING, CardError, FieldProblem


@dataclass(frozen=True, slots=True)
class Words:
    """A field that takes one of some words."""

    words: str
    example: str

    def allowed(self) -> str:
        """Return the words after which a reader knows what to write."""
        return f"allowed: {self.words}; example {self.example}"


@dataclass(frozen=True, slots=True)
class Number:
    """A field that takes a number within [low, high]; no text, boolean, NaN or infinity."""

    low: float
    high: float
    unit: str
    example: float

    def allowed(self) -> str:
        """Return the range and an example in words."""
        unit = f" {self.unit}" if self.unit else ""
        return f"allowed: {self.low:g} to {self.high:g}{unit}; example {self.example:g}"

    def __get_pydantic_core_schema__(self, source: Any, _: GetCoreSchemaHandler) -> CoreSchema:
        schema: CoreSchema = core_schema.float_schema(
            ge=self.low, le=self.high, strict=True, allow_inf_nan=False
        )
        return core_schema.nullable_schema(schema) if type(None) in get_args(source) else schema


@dataclass(frozen=True, slots=True)
class OneOrTwelve(Number):
    """A field that takes one number for all months, or twelve."""

    def allowed(self) -> str:
        """Return the range and an example in words."""
        return f"{Number.allowed(self)}, or a list of twelve such numbers"

    def __get_pydantic_core_schema__(self, source: Any, _: GetCoreSchemaHandler) -> CoreSchema:
        one = core_schema.float_schema(ge=self.low, le=self.high, strict=True, allow_inf_nan=False)
        twelve = core_schema.tuple_variable_schema(one, min_length=12, max_length=12)
        return core_schema.tagged_union_schema(
            {"one": one, "twelve": twelve},
            discriminator=lambda value: "twelve" if isinstance(value, list | tuple) else "one",
        )


@dataclass(frozen=True, slots=True)
class Whole:
    """A field that takes a whole number within [low, high]."""

    low: int
    high: int
    example: int

    def allowed(self) -> str:
        """Return the range and an example in words."""
        return f"allowed: a whole number from {self.low} to {self.high}; example {self.example}"

    def __get_pydantic_core_schema__(self, source: Any, _: GetCoreSchemaHandler) -> CoreSchema:
        schema: CoreSchema = core_schema.int_schema(ge=self.low, le=self.high, strict=True)
        return core_schema.nullable_schema(schema) if type(None) in get_args(source) else schema


def iso_date(value: object) -> object:
    """Return the date that a text year-month-day means; anything else goes on unchanged."""
    if isinstance(value, str):
        return datetime.date.fromisoformat(value)
    if value is None or type(value) is datetime.date:
        return value
    raise ValueError("not a date")


def json_object(text: str | bytes) -> Mapping[str, object]:
    """Return the object of a JSON text.

    Raises
    ------
    CardError
        The text is no JSON, no object, names a field twice or writes NaN or Infinity.
    """
    problems: list[FieldProblem] = []
    try:
        value = json.loads(
            text,
            object_pairs_hook=lambda pairs: _without_doubles(pairs, problems),
            parse_constant=lambda word: _no_number(word, problems),
        )
    except (ValueError, RecursionError) as fault:
        allowed = f"allowed: one JSON object; the text cannot be read ({fault})"
        raise CardError([FieldProblem("card", _short(text), allowed)]) from fault
    if not isinstance(value, dict):
        problems.append(FieldProblem("card", _short(text), "allowed: one JSON object"))
    if problems:
        raise CardError(problems)
    return dict(value)


def _without_doubles(
    pairs: list[tuple[str, object]], problems: list[FieldProblem]
) -> dict[str, object]:
    found: dict[str, object] = {}
    for name, value in pairs:
        if name in found:
            problems.append(FieldProblem(name, value, "allowed: once; the card names it twice"))
        found[name] = value
    return found


def _no_number(word: str, problems: list[FieldProblem]) -> float:
    problems.append(FieldProblem("card", word, "allowed: ordinary numbers; example 1.5"))
    return 0.0


def _short(text: str | bytes) -> str:
    shown = text if isinstance(text, str) else text.decode("utf-8", "replace")
    return shown if len(shown) <= 40 else shown[:40] + "..."


def problems_of(fault: ValidationError, model: type[BaseModel]) -> list[FieldProblem]:
    """Return the problems of a card in our own words, one for each field, in the card's order."""
    found: dict[str, FieldProblem] = {}
    for error in fault.errors(include_url=False):
        problem = _problem(error, model)
        # A list with one bad member is also told to be too short: the member says it all.
        if not any(
            known == problem.field or known.startswith(problem.field + ".") for known in found
        ):
            found[problem.field] = problem
    return list(found.values())


def _problem(error: ErrorDetails, model: type[BaseModel]) -> FieldProblem:
    path = [str(step) for step in error["loc"] if step not in ("one", "twelve")]
    if error["type"] == "value_error" and "|" in error["msg"]:
        field, _, allowed = error["msg"].removeprefix("Value error, ").partition("|")
        return FieldProblem(field, _at(error["input"], field), allowed)
    dotted = ".".join(path) or "card"
    if error["type"] == "extra_forbidden":
        return FieldProblem(dotted, error["input"], _unknown(path, model))
    # Places in a list are no fields: what they hold is told by the list's own kind.
    marks = list(_marks([step for step in path if not step.isdigit()], model))
    allowed = marks[-1].allowed() if marks else "allowed: an object with fields of its own"
    if error["type"] == "missing":
        return FieldProblem(dotted, None, f"{MISSING}; {allowed}")
    return FieldProblem(dotted, error["input"], allowed)


def _at(part: object, dotted: str) -> object:
    for name in dotted.split("."):
        part = part.get(name) if isinstance(part, Mapping) else getattr(part, name, None)
    return part


def _model_at(path: list[str], model: type[BaseModel]) -> type[BaseModel] | None:
    """Return the part of the card that holds the last step of a path."""
    for step in path[:-1]:
        field = model.model_fields.get(step)
        if field is None:
            return None
        kinds = (field.annotation, *get_args(field.annotation))
        parts = [k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)]
        if not parts:
            return None
        model = parts[0]
    return model


def _marks(path: list[str], model: type[BaseModel]) -> Iterator[Words | Number | Whole]:
    """Yield what the named field takes (of a list, what its members take)."""
    for depth in range(1, len(path) + 1):
        owner = _model_at(path[:depth], model)
        field = owner.model_fields.get(path[depth - 1]) if owner is not None else None
        if field is not None:
            yield from (m for m in field.metadata if isinstance(m, Words | Number | Whole))


def _unknown(path: list[str], model: type[BaseModel]) -> str:
    owner = _model_at([step for step in path if not step.isdigit()], model)
    names = list(owner.model_fields) if owner is not None else []
    near = get_close_matches(path[-1], names, n=1)
    hint = f"did you mean {near[0]}? " if near else ""
    return f"there is no such field; {hint}allowed: {', '.join(names)}"
