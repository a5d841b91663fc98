"""What each kind of message is worth: who overtakes whom, and what is done when in doubt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from types import MappingProxyType
from typing import Literal, TypeAlias

from service.records import Kind

InDoubt: TypeAlias = Literal["again", "hold"]


@dataclass(frozen=True, slots=True)
class Rule:
    """How a kind of message is sent.

    `priority` counts from 0, the most urgent. `lifetime` is how long it is worth sending.
    `in_doubt` says what happens when nobody knows whether it arrived and the gateway could not
    tell a repetition: send it once again, or hold it for a person.
    """

    priority: int
    lifetime: timedelta
    needs_consent: bool = False
    quiet_at_night: bool = False
    in_doubt: InDoubt = "again"


RULES: Mapping[Kind, Rule] = MappingProxyType(
    {
        # Asked for, and the same words twice do no harm.
        "answer": Rule(0, timedelta(hours=12)),
        "confirmation": Rule(1, timedelta(hours=24)),
        # Doses and dangers: twice may be taken for two.
        "alert": Rule(1, timedelta(hours=24), in_doubt="hold"),
        # Their words carry the date, so that a double is seen to be one.
        "reminder": Rule(2, timedelta(hours=36), needs_consent=True, quiet_at_night=True),
        "seasonal": Rule(3, timedelta(days=4), needs_consent=True, quiet_at_night=True),
    }
)
"""Every kind. The lifetimes are our own judgement."""
