"""What the SMPP gateway takes from the service and hands back to it.

The gateway knows neither the outbox nor the conversations: the service hands messages to it as
`Outgoing`, and gives it one `Inlet` that takes whatever the centre delivers.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Literal, Protocol, TypeAlias

from service.errors import LitrelineError

DeliveryState: TypeAlias = Literal[
    "enroute",
    "delivered",
    "expired",
    "deleted",
    "undeliverable",
    "accepted",
    "unknown",
    "rejected",
]
UssdPhase: TypeAlias = Literal["begin", "continue", "abort"]
RefusalKind: TypeAlias = Literal["permanent", "temporary"]


@dataclass(frozen=True, slots=True)
class Outgoing:
    """One text for one phone, in as many parts as it needs.

    `to` is E.164. `sender` is a short code, a name of at most 11 letters, or E.164; empty takes
    the bind's own. `valid_for` is how long the centre may go on trying; None leaves it to the
    centre. A second submission of the same message must carry the same `id`, because the
    references on the wire follow from it.
    """

    id: str
    to: str = field(repr=False)
    text: str = field(repr=False)
    sender: str = ""
    valid_for: timedelta | None = None
    wants_receipt: bool = True


def reference_of(message_id: str) -> int:
    """Reference [0 to 65535] under which a message goes out and its receipts may come back.

    It follows from our id alone, so a receipt can settle a message whose response never came,
    after a restart too. Two messages share one in 65 536 cases: match phone and time as well.
    """
    return int.from_bytes(hashlib.sha256(message_id.encode("utf-8")).digest()[:2], "big")


@dataclass(frozen=True, slots=True)
class Accepted:
    """The centre took every part; its ids, in the order of the parts, to compare as text."""

    message_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Refused:
    """The centre took no part, and this message did not go out.

    "permanent" means this message will never go. `alert` is set when the centre refuses our
    account or sender, and so would refuse every message: somebody has to mend that first.
    """

    kind: RefusalKind
    code: int | None
    reason: str
    alert: bool = False


@dataclass(frozen=True, slots=True)
class Throttled:
    """The centre wants fewer messages; nothing of this one was taken. `retry_after` in [s]."""

    retry_after: float


@dataclass(frozen=True, slots=True)
class Uncertain:
    """Octets left and the outcome is unknown, or only some parts were taken.

    Sending it again may double it. `message_ids` are those of the parts known to be taken.
    """

    reason: str
    message_ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NotSent:
    """No octet left: sending it again cannot double it."""

    reason: str


SubmitResult: TypeAlias = Accepted | Refused | Throttled | Uncertain | NotSent


@dataclass(frozen=True, slots=True)
class InboundSms:
    """One text of a phone, put together from its parts.

    `id_key` is the same when the centre delivers the same message again because our
    acknowledgement was late or lost, and another for a second message with the same words.
    `source` is E.164 wherever the centre says enough.
    """

    id_key: str
    source: str = field(repr=False)
    destination: str
    text: str = field(repr=False)
    received_at: datetime


@dataclass(frozen=True, slots=True)
class Receipt:
    """What became of one part that the centre had accepted.

    `message_id` is empty when the centre tells only our own reference. `error` is the centre's
    own code, in its own words. `at` is the time it tells, or that of arrival. `parties` are the
    addresses it came from and went to: mostly the phone and our sender, with some centres the
    other way round. `quoted` are the first words of the message, where they are told.
    """

    message_id: str
    state: DeliveryState
    at: datetime
    user_reference: int | None = None
    error: str = ""
    parties: tuple[str, ...] = field(default=(), repr=False)
    quoted: str = field(default="", repr=False)


@dataclass(frozen=True, slots=True)
class UssdIn:
    """One step of a USSD dialogue; `step` counts from 0, and a repetition carries the same."""

    session_key: str
    step: int
    source: str = field(repr=False)
    service_code: str
    text: str = field(repr=False)
    phase: UssdPhase


@dataclass(frozen=True, slots=True)
class UssdOut:
    """The screen to show, and whether an answer to it is awaited."""

    text: str
    more: bool


@dataclass(frozen=True, slots=True)
class InboundPart:
    """One part of a long text, in wait for the others; `id_key` as that of a text."""

    source: str = field(repr=False)
    destination: str
    reference: int
    total: int
    number: int
    text: str = field(repr=False)
    received_at: datetime
    id_key: str = ""

    @property
    def message(self) -> tuple[str, str, int, int]:
        """What the parts of one text have in common."""
        return self.source, self.destination, self.reference, self.total


class Inlet(Protocol):
    """Takes what the centre delivers; called from worker threads, one at a time for one phone.

    Each method returns once its effect is committed, for only then is the delivery acknowledged.
    Whatever it raises makes the gateway answer with a temporary error, so that the centre
    delivers again.
    """

    def received(self, sms: InboundSms) -> None:
        """Keep a text."""

    def kept(self, keys: Sequence[str], since: datetime) -> str | None:
        """Return the first of these keys under which a text, or a part, was kept since then."""

    def receipt(self, receipt: Receipt) -> bool:
        """Keep a receipt. False when no message is known by it: it is offered again for an hour.

        A receipt may overtake the response to its submission, so "not known" may mean "not yet".
        """

    def settled(self, message_id: str, result: SubmitResult) -> None:
        """Take the outcome of a message of ours that was told as uncertain before."""

    def ussd(self, question: UssdIn) -> UssdOut:
        """Take one step and return the screen; what is returned for an abort is not shown."""


class PartShelf(Protocol):
    """Where parts of long texts wait. One that commits loses none when the process ends.

    A shelf may also hand each part on to somebody who puts texts together: then `put` returns
    that part alone and `overdue` nothing, and the gateway never takes a text for whole.
    """

    def put(self, part: InboundPart) -> tuple[InboundPart, ...]:
        """Keep a part and return all that are held of its text; the same part again is kept once.

        The order of those returned does not matter.
        """

    def clear(self, message: tuple[str, str, int, int]) -> None:
        """Forget the parts of a text."""

    def overdue(self, before: datetime) -> tuple[tuple[InboundPart, ...], ...]:
        """Return the texts whose first part came before a moment."""


class SmppError(LitrelineError):
    """Base of what goes wrong between us and the centre."""
