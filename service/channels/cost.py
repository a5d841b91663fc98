"""What a screen takes up: units of its alphabet, of how many, and parts if it left as a text."""

from __future__ import annotations

from typing import NamedTuple

from service.text.measure import SINGLE, measure


class Cost(NamedTuple):
    """Septets or UCS-2 units used, the most that one message holds, and parts as a text."""

    units: int
    room: int
    parts: int


def cost_of(text: str) -> Cost:
    """Return what a screen takes up."""
    size = measure(text)
    return Cost(size.units, SINGLE[size.encoding], size.parts)
