"""Sizes in an answer: "25", "abt 25,5 m", "20 by 30 ft", "mita 20 kwa 30", "२ ड्रम".

Nothing is guessed: a number that can be read in two ways, a unit nobody knows, or digits mixed
with letters give a reason to ask again. Units are returned as sent, never converted here.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import NamedTuple, cast

from service.text.lexicon import Unit
from service.text.literals import Reason, read_literal
from service.text.tokens import Token, tokens_of
from service.text.typed import LONGEST, NO_SIZE, cleaned

_MOST_NUMBERS = 20
_SPLIT_NUMBER = re.compile(r"\d[/':_\\^]\d")
_SPACED_NUMBER = re.compile(r"(?<![\d.,-])[1-9]\d{0,2}(?: \d{3})+(?:[.,]\d+)?(?![\d.,])")
_CUBED = re.compile(r"(?<![^\W\d_])m\s?\^\s?3(?!\d)")


class Quantity(NamedTuple):
    """A number as sent, and its unit when one was sent with it."""

    value: Decimal
    unit: Unit | None


class Unreadable(NamedTuple):
    """Why no quantity can be read."""

    reason: Reason


@dataclass(frozen=True, slots=True)
class _Size:
    """A number token with its place among the tokens, before its unit is known."""

    place: int
    value: Decimal
    unit: str | None = None


def read_quantities(text: str, language: str) -> tuple[Quantity, ...] | Unreadable:
    """Return every quantity of an answer in order, at least one, or why it cannot be read.

    "1 250" is one number when nothing else is in the text to make it two.
    """
    if len(text) > LONGEST:
        return Unreadable("too-large")
    plain = _CUBED.sub("m3", cleaned(text))
    if _SPLIT_NUMBER.search(plain):
        return Unreadable("ambiguous-number")
    tokens = tokens_of(_closed_up(plain), language)
    sizes = _sizes(tokens)
    if isinstance(sizes, Unreadable):
        return sizes
    with_units = _with_units(tokens, sizes)
    if with_units is None:
        return Unreadable("wrong-unit")
    return tuple(
        Quantity(size.value, cast("Unit | None", size.unit)) for size in _shared(tokens, with_units)
    )


def _closed_up(text: str) -> str:
    """Close the spaces of the one number of a text written in groups of three."""
    match = _SPACED_NUMBER.search(text)
    if match is None or re.search(r"\d", text[: match.start()] + text[match.end() :]):
        return text
    return text[: match.start()] + match[0].replace(" ", "") + text[match.end() :]


def _sizes(tokens: Sequence[Token]) -> list[_Size] | Unreadable:
    sizes: list[_Size] = []
    for place, token in enumerate(tokens):
        if token.kind == "odd" and NO_SIZE not in token.text:
            return Unreadable("ambiguous-number")
        if token.kind != "number":
            continue
        value = read_literal(token.text)
        if not isinstance(value, Decimal):
            return Unreadable(value)
        if sizes and _is_between(tokens[sizes[-1].place + 1 : place]):
            return Unreadable("many-numbers")
        sizes.append(_Size(place, value))
    if not sizes:
        return Unreadable("no-number")
    return sizes if len(sizes) <= _MOST_NUMBERS else Unreadable("many-numbers")


def _is_between(tokens: Sequence[Token]) -> bool:
    """Whether "2 or 3", "2-3" or "2 m to 3 m" makes one unsure size of two."""
    words = [token for token in tokens if token.kind != "unit"]
    return len(words) == 1 and (words[0].kind == "between" or words[0].text == "-")


def _with_units(tokens: Sequence[Token], sizes: Sequence[_Size]) -> list[_Size] | None:
    """Give each size its unit, or return None when a word nobody knows follows a number."""
    first = next(token.kind for token in tokens if token.kind in ("number", "unit"))
    done = []
    for size in sizes:
        before, after, beyond = (_token(tokens, size.place + step) for step in (-1, 1, 2))
        if first == "unit" and before.kind == "unit":
            done.append(replace(size, unit=_by_the_hour(before, after)))
        elif after.kind == "unit" and not (first == "unit" and beyond.kind == "number"):
            done.append(replace(size, unit=_by_the_hour(after, beyond)))
        elif after.kind in ("word", "odd"):
            return None
        else:
            done.append(size)
    return done


def _by_the_hour(unit: Token, after: Token) -> str:
    """Read "lita 1.6 kwa saa" and "1.6 L per hour" as a flow."""
    return "lph" if unit.text == "l" and after.kind == "hourly" else unit.text


def _token(tokens: Sequence[Token], place: int) -> Token:
    return tokens[place] if 0 <= place < len(tokens) else Token("mark", "")


def _shared(tokens: Sequence[Token], sizes: list[_Size]) -> list[_Size]:
    """Let sizes that are tied together share the one unit given: "20 by 30 ft" is in feet."""
    for after in range(len(sizes) - 1, 0, -1):
        left, right = sizes[after - 1], sizes[after]
        if left.unit is None and _tied(tokens, left, right):
            sizes[after - 1] = replace(left, unit=right.unit)
    for after in range(1, len(sizes)):
        left, right = sizes[after - 1], sizes[after]
        if right.unit is None and _tied(tokens, left, right):
            sizes[after] = replace(right, unit=left.unit)
    return sizes


def _tied(tokens: Sequence[Token], left: _Size, right: _Size) -> bool:
    return any(token.kind == "joining" for token in tokens[left.place + 1 : right.place])
