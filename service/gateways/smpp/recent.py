"""Whether a delivery is an earlier one again, though SMPP gives deliveries no number.

A centre delivers again when it did not see our acknowledgement in time. So the same words from
the same phone within the window are the same message, unless the centre must have had our
acknowledgement before: it left promptly, and the link it went over has lived on.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import NamedTuple, Protocol

from service.gateways.smpp.codec import MessageBody
from service.gateways.smpp.codes import Tag

WINDOW_S = 90.0
"""How long after a delivery the same one may come again [s]: common practice, no source."""
PROMPT_S = 5.0
"""An acknowledgement after more than this [s] may have been too late for the centre."""

_COUNTED = 4
"""How many equal texts of one stretch an earlier process is asked for."""

_TELLING_TAGS = (
    Tag.MESSAGE_PAYLOAD,
    Tag.SAR_MSG_REF_NUM,
    Tag.SAR_TOTAL_SEGMENTS,
    Tag.SAR_SEGMENT_SEQNUM,
    Tag.USSD_SERVICE_OP,
    Tag.ITS_SESSION_INFO,
)


class Heard(Protocol):
    """The link that a delivery came over."""

    @property
    def heard_up_to(self) -> float:
        """Whatever we sent before this moment, the centre has answered something later [s]."""


class Sighting(NamedTuple):
    """What is known of a delivery: its key, whether it came before, whether it was kept then."""

    key: str
    again: bool
    kept: bool


@dataclass(slots=True)
class _Seen:
    key: str
    count: int
    last_at: float
    kept: bool = False
    acknowledged_at: float | None = None
    over: Heard | None = None

    def may_come_again(self, over: Heard, arrived_at: float) -> bool:
        done = self.acknowledged_at
        if done is None or arrived_at <= done or done - self.last_at > PROMPT_S:
            return True
        return self.over is not None and over is not self.over and self.over.heard_up_to < done


def fingerprint(bind: str, message: MessageBody) -> str:
    """What two deliveries of one message have in common; only what the centre cannot change."""
    parts = (
        bind,
        message.source.number,
        message.destination.number,
        str(message.esm_class),
        str(message.data_coding),
        message.short_message.hex(),
        *((message.tlv(tag) or b"").hex() for tag in _TELLING_TAGS),
    )
    return sha256("\x1f".join(parts).encode("utf-8")).hexdigest()


class Recent:
    """The deliveries of the last minute and a half. Moments are those of one steady clock [s].

    What came before `begun` only a store can tell: an earlier process took it.
    """

    def __init__(self, begun: float, window: float = WINDOW_S) -> None:
        self._begun, self._window = begun, window
        self._seen: OrderedDict[str, _Seen] = OrderedDict()

    def look(self, print_: str, over: Heard, arrived_at: float, wall: datetime) -> Sighting:
        """Return the key of a delivery: that of the earlier one, if it is that one again.

        The key of a new one tells its words and which stretch of time they came in, so that
        `earlier_keys` finds it in a store after a restart of this process.
        """
        self._forget(arrived_at - self._window)
        seen = self._seen.pop(print_, None)
        if seen and seen.may_come_again(over, arrived_at):
            sighting = Sighting(seen.key, again=True, kept=seen.kept)
            seen.last_at, seen.acknowledged_at = arrived_at, None
        else:
            bucket = f"{print_}:{self._stretch(wall)}"
            count = seen.count + 1 if seen and seen.key.rpartition(":")[0] == bucket else 0
            seen = _Seen(f"{bucket}:{count}", count, arrived_at)
            sighting = Sighting(seen.key, again=False, kept=False)
        self._seen[print_] = seen
        return sighting

    def earlier_keys(self, print_: str, arrived_at: float, wall: datetime) -> tuple[str, ...]:
        """Keys under which an earlier process may have kept a delivery, the latest one first.

        None once this process has seen it, or has run for so long that it would have.
        """
        if print_ in self._seen or arrived_at - self._begun > self._window:
            return ()
        now = self._stretch(wall)
        return tuple(
            f"{print_}:{stretch}:{count}"
            for stretch in (now, now - 1)
            for count in reversed(range(_COUNTED))
        )

    def remember(self, print_: str, key: str, arrived_at: float) -> None:
        """Take over what an earlier process kept, perhaps without acknowledging it."""
        self._seen[print_] = _Seen(key, int(key.rpartition(":")[2]), arrived_at, kept=True)

    def kept(self, print_: str) -> None:
        """Note that what a delivery brought is committed."""
        if seen := self._seen.get(print_):
            seen.kept = True

    def acknowledged(self, print_: str, over: Heard, now: float) -> None:
        """Note that a delivery was acknowledged over a link."""
        if seen := self._seen.get(print_):
            seen.acknowledged_at, seen.over = now, over

    def _stretch(self, wall: datetime) -> int:
        return int(wall.timestamp() // self._window)

    def _forget(self, before: float) -> None:
        while self._seen and next(iter(self._seen.values())).last_at < before:
            self._seen.popitem(last=False)
