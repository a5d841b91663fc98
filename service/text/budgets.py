"""How much room a sentence has, and which sentences are cautions, as notes to translators say.

A note may carry "budget: 60 septets or 30 units"; a sentence without one has the default. A
note with the word "caution" marks a sentence that must exist in every language.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from babel.messages.catalog import Message

from service.text.measure import Encoding


class Room(NamedTuple):
    """Most septets, or most UCS-2 units, that a sentence may need."""

    septets: int
    units: int

    def of(self, encoding: Encoding) -> int:
        """Return the limit that holds in this alphabet."""
        return self.septets if encoding == "gsm7" else self.units

    def __str__(self) -> str:
        return f"budget: {self.septets} septets or {self.units} units"


SENTENCE = Room(306, 201)
"""Two parts of a text in septets, three in UCS-2; on USSD it pages itself."""
CHOICE = Room(140, 60)
"""A choice stays whole on its page, under its key and above the line for more."""

_BUDGET = re.compile(r"budget:\s*(\d+)\s*septets?\s+or\s+(\d+)\s*units?", re.IGNORECASE)
_CAUTION = re.compile(r"\bcaution\b", re.IGNORECASE)


def stated_room(notes: Iterable[str]) -> Room | None:
    """Return the smallest budget that notes state, or None."""
    found = _BUDGET.findall("\n".join(notes))
    return min((Room(int(septets), int(units)) for septets, units in found), default=None)


def budget_of(message: Message) -> Room:
    """Return the room a message has by its notes, else the default of a sentence."""
    return stated_room(message.auto_comments) or SENTENCE


def is_caution(message: Message) -> bool:
    """Tell whether the notes mark a message as a caution."""
    return any(_CAUTION.search(note) for note in message.auto_comments)
