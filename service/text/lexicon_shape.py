"""The shape of a language's lexicon: which words it must have."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

Command: TypeAlias = Literal["back", "main", "more", "help", "stop", "start"]
Unit: TypeAlias = Literal[
    "m", "ft", "pace", "cm", "mm", "l", "bucket", "drum", "m3", "week", "pct", "lph"
]


@dataclass(frozen=True, slots=True)
class Lexicon:
    """The words of one language, each group a line of words with "|" between.

    `hourly` makes a flow of litres; `joining` ties two sizes ("20 by 30"); `between` makes one
    unsure size of two ("2 or 3"); `filling` may stand beside a number and changes nothing;
    `polite` may surround a command. `leaving` are stop words that also ask to be left alone
    inside a longer message.
    """

    commands: Mapping[Command, str]
    yes: str
    no: str
    units: Mapping[Unit, str]
    hourly: str = ""
    joining: str = ""
    between: str = ""
    filling: str = ""
    polite: str = ""
    leaving: str = ""


def words_of(line: str) -> tuple[str, ...]:
    """Return the words or groups of words of a line."""
    return tuple(each.strip() for each in line.split("|") if each.strip())
