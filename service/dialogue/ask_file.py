"""The `ask` of a state in a flow file: which typed answer is wanted, and from where to where."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import cast, get_args

from yaml.nodes import Node, ScalarNode

from service.dialogue.answers import UNITS, NotUnderstood, read_typed
from service.dialogue.model import Ask, AskType
from service.dialogue.nodes import Sheet, near
from service.dialogue.vocabulary import PlainVocabulary, Unit

ASK_KEYS = ("type", "min", "max", "unit", "example", "whole")
LETTERS = {"min": Decimal(1), "max": Decimal(60)}
"""How many letters a text may have when the file does not say."""

MOST = 10**9
"""The largest limit, far beyond any plot, so that conversions stay exact."""

Fields = dict[str, tuple[int, Node]]


def read_ask(sheet: Sheet, node: Node, state: str) -> Ask | None:
    """Read the `ask` of a state; None, and the problems told, when it cannot be used."""
    fields = sheet.record(node, ASK_KEYS, f"'ask' of state {state!r}")
    missing = [key for key in _needed(fields) if key not in fields]
    for key in missing:
        sheet.wrong(node, f"'ask' of state {state!r} needs {key!r}")
    kind = _type(sheet, fields)
    low, high = _limit(sheet, fields, "min"), _limit(sheet, fields, "max")
    example = sheet.text(fields["example"][1], "'example'") if "example" in fields else None
    if kind is None or low is None or high is None or example is None:
        return None
    if low > high:
        sheet.wrong(
            fields["min" if "min" in fields else "max"][0], f"min {low} is above max {high}"
        )
        return None
    unit = _unit(sheet, fields, kind)
    ask = Ask(kind, low, high, example, unit, _whole(sheet, fields, kind))
    _check_example(sheet, fields, ask)
    return ask


def _is_text(fields: Fields) -> bool:
    node = fields["type"][1] if "type" in fields else None
    return isinstance(node, ScalarNode) and node.value == "text"


def _needed(fields: Fields) -> tuple[str, ...]:
    return ("type", "example") if _is_text(fields) else ("type", "min", "max", "example")


def _type(sheet: Sheet, fields: Fields) -> AskType | None:
    if "type" not in fields:
        return None
    line, node = fields["type"]
    name = sheet.text(node, "'type'")
    if name is None or name in get_args(AskType):
        return cast("AskType | None", name)
    sheet.wrong(line, f"unknown type {name!r}{near(name, get_args(AskType))}")
    return None


def _limit(sheet: Sheet, fields: Fields, key: str) -> Decimal | None:
    if key not in fields:
        return LETTERS[key] if _is_text(fields) else None
    line, node = fields[key]
    text = sheet.text(node, f"{key!r}")
    if text is None:
        return None
    try:
        number = Decimal(text)
    except InvalidOperation:
        number = Decimal("NaN")
    if number.is_finite() and abs(number) <= MOST:
        return number
    sheet.wrong(line, f"{key!r} must be a number, at most {MOST:,}, not {text!r}")
    return None


def _unit(sheet: Sheet, fields: Fields, kind: AskType) -> Unit | None:
    allowed = tuple(UNITS[kind])
    usual = allowed[0] if allowed else None
    if "unit" not in fields:
        return usual
    line, node = fields["unit"]
    name = sheet.text(node, "'unit'")
    if name is None or name in allowed:
        return name
    if not allowed:
        sheet.wrong(line, f"a {kind} has no unit")
    else:
        sheet.wrong(line, f"a {kind} cannot be asked in {name!r}{near(name, allowed)}")
    return usual


def _whole(sheet: Sheet, fields: Fields, kind: AskType) -> bool:
    if "whole" not in fields:
        return kind == "weeks"
    line, node = fields["whole"]
    if kind == "text" or not isinstance(node, ScalarNode) or node.value != "true":
        sheet.wrong(line, "'whole' can only be true, and only where a number is asked")
    return True


def _check_example(sheet: Sheet, fields: Fields, ask: Ask) -> None:
    reading = read_typed(ask, ask.example, PlainVocabulary())
    if isinstance(reading, NotUnderstood):
        line = fields["example"][0]
        message = f"the question itself would refuse the example {ask.example!r}: {reading.reason}"
        sheet.wrong(line, message)
