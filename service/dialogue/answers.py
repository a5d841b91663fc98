"""Reading one answer: a value to keep, or the reason why it was not understood.

Nothing here raises at a caller. Lengths are kept in metres, volumes in litres, flows in litres
an hour, whatever unit was sent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, TypeAlias, cast, get_args

from service.dialogue.model import Ask, AskType, Option
from service.dialogue.vocabulary import Quantity, Unit, Vocabulary
from service.units import BUCKET_L, DRUM_L, FOOT_M, LITRES_PER_CUBIC_METRE, PACE_M, metres

Reason: TypeAlias = Literal[
    "nothing",
    "no-number",
    "many-numbers",
    "ambiguous-number",
    "wrong-unit",
    "not-whole",
    "too-small",
    "too-large",
    "no-words",
    "too-long",
    "no-choice",
]

_LENGTHS: dict[Unit, Decimal] = {
    "m": Decimal(1),
    "cm": Decimal("0.01"),
    "mm": Decimal(str(metres(1))),
    "ft": Decimal(str(FOOT_M)),
    "pace": Decimal(str(PACE_M)),
}
_VOLUMES: dict[Unit, Decimal] = {
    "l": Decimal(1),
    "m3": Decimal(str(LITRES_PER_CUBIC_METRE)),
    "bucket": Decimal(str(BUCKET_L)),
    "drum": Decimal(str(DRUM_L)),
}
UNITS: Mapping[AskType, Mapping[Unit, Decimal]] = {
    "length": _LENGTHS,
    "height": _LENGTHS,
    "volume": _VOLUMES,
    "weeks": {"week": Decimal(1)},
    "percent": {"pct": Decimal(1)},
    "flow": {"lph": Decimal(1)},
    "number": {},
    "text": {},
}
"""The units that a type of question allows, the usual one first, each in the unit kept."""

_ENOUGH_DIGITS = Decimal("0.000001")
"""A micrometre or a microlitre: a foot or pace converted is kept no finer than this."""


@dataclass(frozen=True, slots=True)
class Understood:
    """A value to keep; `chosen` is the place of the line in a menu.

    `converted` tells that another unit was sent than asked for.
    """

    value: object
    chosen: int | None = None
    converted: bool = False


@dataclass(frozen=True, slots=True)
class NotUnderstood:
    """Why an answer could not be taken."""

    reason: Reason


def read_typed(ask: Ask, text: str, vocabulary: Vocabulary) -> Understood | NotUnderstood:
    """Read a typed answer such as "25", "25,5 m" or "3 buckets"."""
    if not text.strip():
        return NotUnderstood("nothing")
    if ask.type == "text":
        return _words(ask, text)
    found = read_quantities(text, vocabulary)
    return found if isinstance(found, NotUnderstood) else _one(ask, found)


def read_quantities(text: str, vocabulary: Vocabulary) -> Sequence[Quantity] | NotUnderstood:
    """Every quantity in a text, or why there is none to be read."""
    found = vocabulary.quantities(text)
    if isinstance(found, Sequence) and not hasattr(found, "reason"):
        return found
    word = found.reason if hasattr(found, "reason") else ""
    return NotUnderstood(cast("Reason", word) if word in get_args(Reason) else "no-number")


def _words(ask: Ask, text: str) -> Understood | NotUnderstood:
    words = " ".join(text.split())
    if not any(letter.isalpha() for letter in words):
        return NotUnderstood("no-words")
    if len(words) > ask.high:
        return NotUnderstood("too-long")
    if len(words) < ask.low:
        return NotUnderstood("too-small")
    return Understood(words)


def _one(ask: Ask, found: Sequence[Quantity]) -> Understood | NotUnderstood:
    if not found:
        return NotUnderstood("no-number")
    # "20 by 30" could be either side of the plot, so ask; never guess.
    return read_quantity(ask, found[0]) if len(found) == 1 else NotUnderstood("many-numbers")


def read_quantity(ask: Ask, found: Quantity) -> Understood | NotUnderstood:
    """Take one quantity as the answer, if its unit and size fit the question."""
    factors = UNITS[ask.type]
    if found.unit is not None and found.unit not in factors:
        return NotUnderstood("wrong-unit")
    asked = factors[ask.unit] if ask.unit else Decimal(1)
    sent = factors[cast("Unit", found.unit)] if found.unit else asked
    return _within(ask, found.value * sent, asked, converted=sent != asked)


def _within(
    ask: Ask, value: Decimal, asked: Decimal, *, converted: bool
) -> Understood | NotUnderstood:
    if value < ask.low * asked:
        return NotUnderstood("too-small")
    if value > ask.high * asked:
        return NotUnderstood("too-large")
    if ask.whole and value % asked:
        return NotUnderstood("not-whole")
    return Understood(plain_number(value), converted=converted)


def plain_number(value: Decimal) -> int | float:
    """A JSON number: whole when it is whole, else rounded to six decimals."""
    rounded = value.quantize(_ENOUGH_DIGITS)
    return int(rounded) if rounded == rounded.to_integral_value() else float(rounded)


def read_menu(
    text: str, keys: Sequence[str], options: Sequence[Option], vocabulary: Vocabulary
) -> Understood | NotUnderstood:
    """Read the answer to a menu: "1", "1." or the words of a line, in that order."""
    said = text.strip()
    if not said:
        return NotUnderstood("nothing")
    key = menu_key(said)
    if key is None:
        return read_name(said, options, vocabulary)
    if key not in keys:
        return NotUnderstood("no-choice")
    place = keys.index(key)
    return Understood(options[place].value, place)


def menu_key(said: str) -> str | None:
    """The number of a line, in plain digits, from "1", "1." or "1)" in any script's digits."""
    digits = said.strip().rstrip(".) ")
    if not digits.isdecimal():
        return None
    # A menu has at most 99 lines; a longer number is nobody's key and is left as it is.
    return str(int(digits)) if len(digits) <= 4 else digits


def read_name(
    text: str, options: Sequence[Option], vocabulary: Vocabulary
) -> Understood | NotUnderstood:
    """Read the answer to a menu by its words alone."""
    place = vocabulary.choose(text, options)
    if place is None:
        place = _yes_no(text, options, vocabulary)
    if place is None:
        return NotUnderstood("no-choice")
    return Understood(options[place].value, place)


def _yes_no(text: str, options: Sequence[Option], vocabulary: Vocabulary) -> int | None:
    """The line whose value is "yes" or "no", when the menu has both."""
    values = [option.value for option in options]
    if "yes" not in values or "no" not in values:
        return None
    meant = vocabulary.yes_no(text)
    return None if meant is None else values.index("yes" if meant else "no")
