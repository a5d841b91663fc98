"""A sentence to be said later, with its values, in whatever language the caller chose.

The rooms that decide (`advice`, `dialogue`) build phrases; the room that speaks (`text`)
turns them into words. The English sentence is the key of the catalogue, so it stands in the
code exactly as a farmer who reads English will see it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class Number:
    """A number to be written by the rules of the caller's language.

    `digits` is the most decimals shown; trailing zeros are dropped.
    """

    value: float
    digits: int = 0


@dataclass(frozen=True, slots=True)
class Month:
    """A month of the year (1 to 12), written short in the caller's language."""

    number: int


@dataclass(frozen=True, slots=True)
class Weekday:
    """A day of the week (Monday is 0), as the caller's language writes it within a sentence."""

    number: int


Value: TypeAlias = "str | int | Number | Month | Weekday | Phrase | tuple[Phrase, ...]"


@dataclass(frozen=True, slots=True)
class Phrase:
    """One sentence: English key, its named values, and the plural when a count decides.

    A tuple of phrases as a value is said as a list, comma between. `count` names the value
    (a whole number) that chooses between `text` and `plural`. `context` tells two equal English
    sentences apart (gettext's msgctxt).
    """

    text: str
    values: Mapping[str, Value] = field(default_factory=dict)
    plural: str | None = None
    count: str | None = None
    context: str | None = None


@dataclass(frozen=True, slots=True)
class Choice:
    """A numbered answer of a menu: what to send, and what it means."""

    key: str
    label: Phrase


@dataclass(frozen=True, slots=True)
class Screen:
    """What the caller sees next: sentences, then numbered choices.

    `ends` is true when nothing is asked any more.
    """

    lines: tuple[Phrase, ...]
    choices: tuple[Choice, ...] = ()
    ends: bool = False


def say(text: str, /, **values: Value) -> Phrase:
    """Return the phrase for one English sentence; `{name}` in it is filled from `values`."""
    return Phrase(text, values)


def say_n(one: str, many: str, /, *, count: str, **values: Value) -> Phrase:
    """Return a phrase whose form depends on the whole number named by `count`."""
    return Phrase(one, values, plural=many, count=count)


def N_(text: str) -> str:
    """Mark a sentence for the catalogue without saying it yet."""
    return text
