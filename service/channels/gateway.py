"""The port through which messages leave, and what a gateway may answer."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Protocol, TypeAlias


@dataclass(frozen=True, slots=True)
class Outgoing:
    """One text for one phone. The same message, sent again, carries the same `id`.

    `to` is E.164; an empty `sender` takes the gateway's own. `valid_for` is how long the network
    may go on trying.
    """

    id: str
    to: str = field(repr=False)
    text: str = field(repr=False)
    sender: str = ""
    valid_for: timedelta | None = None


@dataclass(frozen=True, slots=True)
class Accepted:
    """The network has it. `message_ids` are its own ids of the parts, if it goes by those."""

    message_ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Refused:
    """The network will not take it, ever. `alert`: it would take none of ours, so mend that.

    `nobody`: it says that there is no such number.
    """

    reason: str
    alert: bool = False
    nobody: bool = False


@dataclass(frozen=True, slots=True)
class NotNow:
    """Nothing was taken, a later attempt may be; not before `after` [s] if that is given.

    `slower` asks for fewer messages altogether.
    """

    reason: str
    after: float | None = None
    slower: bool = False


@dataclass(frozen=True, slots=True)
class Unknown:
    """The bytes left and no answer came: it may have been taken."""

    reason: str
    message_ids: tuple[str, ...] = ()


Answer: TypeAlias = Accepted | Refused | NotNow | Unknown


class Gateway(Protocol):
    """Whatever carries messages to phones; `submit` is called from several threads."""

    @property
    def repeatable(self) -> bool:
        """Whether the same id sent twice is delivered once."""

    def submit(self, message: Outgoing, now: datetime) -> Answer:
        """Hand one message over, and return what came of it; never raises for a bad network."""
