"""What the dialogue needs from whoever knows the caller's words and digits.

The room `text` fills this in for each language by structural typing. `PlainVocabulary` is the
little one that ships here: it knows plain digits and English words only, checks the examples
of flow files when they are read, and stands in for the real one in tests.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Literal, NamedTuple, Protocol, TypeAlias

from service.phrases import Phrase

Unit: TypeAlias = Literal[
    "m", "ft", "pace", "cm", "mm", "l", "bucket", "drum", "m3", "week", "pct", "lph"
]
Command: TypeAlias = Literal["back", "main", "more", "help", "stop", "start"]


class Quantity(Protocol):
    """A number as sent, and its unit when one was sent with it."""

    @property
    def value(self) -> Decimal: ...
    @property
    def unit(self) -> str | None: ...


class Unreadable(Protocol):
    """Why no quantity could be read; one of the reasons of `answers.Reason`."""

    @property
    def reason(self) -> str: ...


class Named(Protocol):
    """Something that can be chosen by its words."""

    @property
    def label(self) -> Phrase: ...
    @property
    def names(self) -> tuple[str, ...]: ...


class Vocabulary(Protocol):
    """The words and digits of one caller's language."""

    def command(self, text: str, offered: Sequence[Named] = (), /) -> Command | None:
        """The command that the whole text means, in any language known.

        None when the text is also the whole name of something offered.
        """

    def quantities(self, text: str, /) -> Sequence[Quantity] | Unreadable:
        """Every quantity in the text, in order, or why it cannot be read."""

    def choose(self, text: str, options: Sequence[Named], /) -> int | None:
        """Which option the text names, misspelt or not; None when none or several."""

    def yes_no(self, text: str, /) -> bool | None:
        """Whether the text means yes or no; None when neither."""


class PlainQuantity(NamedTuple):
    """A quantity read by `PlainVocabulary`."""

    value: Decimal
    unit: str | None = None


class PlainUnreadable(NamedTuple):
    """A refusal by `PlainVocabulary`."""

    reason: str


_SIGNS = "m3|mm|cm|m|ft|paces?|buckets?|drums?|weeks?|lph|l|%"
_QUANTITY = re.compile(rf"([-+]?\d+(?:[.,]\d+)?)\s*({_SIGNS})?(?!\w)")
_UNITS = {"%": "pct", "paces": "pace", "buckets": "bucket", "drums": "drum", "weeks": "week"}
_COMMANDS: dict[str, Command] = {
    "back": "back", "main": "main", "more": "more", "help": "help", "stop": "stop", "start": "start"
}  # fmt: skip


class PlainVocabulary:
    """Plain digits of any script, unit signs and English words, spelt exactly."""

    def command(self, text: str, offered: Sequence[Named] = (), /) -> Command | None:
        meant = _COMMANDS.get(text.strip().casefold())
        return None if meant and self.choose(text, offered) is not None else meant

    def quantities(self, text: str, /) -> Sequence[Quantity] | Unreadable:
        found = _QUANTITY.findall(text.casefold())
        if not found:
            return PlainUnreadable("no-number")
        return tuple(
            PlainQuantity(Decimal(number.replace(",", ".")), _UNITS.get(unit, unit) or None)
            for number, unit in found
        )

    def choose(self, text: str, options: Sequence[Named], /) -> int | None:
        said = text.strip().casefold()
        named = [
            place
            for place, option in enumerate(options)
            if said in (option.label.text.casefold(), *(name.casefold() for name in option.names))
        ]
        return named[0] if len(named) == 1 else None

    def yes_no(self, text: str, /) -> bool | None:
        return {"yes": True, "no": False}.get(text.strip().casefold())
