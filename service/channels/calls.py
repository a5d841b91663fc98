"""A phone that rang and hung up: it costs the caller nothing, and asks to be called back."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, Protocol, TypeAlias

from service.channels.anew import came_before, judged_anew
from service.channels.keeping import Keeper
from service.records import Inbound, Phone, UnitOfWork, require_aware

ATTEMPTS = 4
"""How often a call is judged anew when another change came first."""
CALL = "call"
"""What calls are kept under among what came in, before the name of their gateway."""

Rung: TypeAlias = Literal["taken", "repeated"]


@dataclass(frozen=True, slots=True)
class MissedCall:
    """A call as a gateway tells of it; `id` is the gateway's own. `number` is E.164."""

    gateway: str
    id: str
    number: str = field(repr=False)
    recipient: str
    at: datetime

    @property
    def body_hash(self) -> str:
        """Tells a repetition from another call under the same id."""
        said = "\x1f".join((self.number, self.recipient, self.at.isoformat()))
        return hashlib.sha256(said.encode("utf-8", "replace")).hexdigest()

    @property
    def kept_under(self) -> str:
        """The name of the gateway among what came in: ids of calls and of texts may be alike."""
        return f"{CALL}-{self.gateway}"

    def kept(self, id_: str, phone_id: str, now: datetime) -> Inbound:
        """The row to keep of it: a text without words."""
        return Inbound(
            id=id_,
            gateway=self.kept_under,
            message_id=self.id,
            phone_id=phone_id,
            recipient=self.recipient,
            body_hash=self.body_hash,
            text="",
            received_at=now,
            taken_at=now,
        )


class MissedCalls(Protocol):
    """Whoever cares for missed calls, such as the desk that calls back."""

    def take(self, work: UnitOfWork, phone: Phone, call: MissedCall, now: datetime) -> None:
        """Do what a call asks for, in the transaction in which it is kept."""


class Calls:
    """Takes missed calls; each id once, with all that follows from it in one transaction."""

    def __init__(
        self,
        *,
        unit_of_work: Callable[[], UnitOfWork],
        new_id: Callable[[], str],
        missed: MissedCalls | None = None,
    ) -> None:
        self._unit_of_work, self._new_id, self._missed = unit_of_work, new_id, missed
        self._keeper = Keeper(new_id)

    def take(self, call: MissedCall, now: datetime) -> Rung:
        """Take one call.

        Raises
        ------
        Conflict
            When its id was already used for another call.
        ValueError
            When a moment carries no time zone.
        """
        require_aware(now)
        require_aware(call.at)
        return judged_anew(
            lambda: self._judge(call, now),
            ATTEMPTS,
            "this call was not taken, too many came at once: send it again",
        )

    def _judge(self, call: MissedCall, now: datetime) -> Rung:
        with self._unit_of_work() as work:
            if came_before(work, call.kept_under, call.id, call.body_hash, "call"):
                return "repeated"
            caller = work.caller(call.number, CALL, "")
            phone = self._keeper.phone(work, caller, call.number, now)
            work.inbox.add(call.kept(self._new_id(), phone.id, now))
            if self._missed is not None:
                self._missed.take(work, phone, call, now)
            work.commit()
            return "taken"
