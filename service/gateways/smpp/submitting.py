"""Submissions and what became of them, so that whoever asked knows whether to send again."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol, TypeAlias

from service.gateways.smpp.codec import IdBody, MessageBody, Pdu
from service.gateways.smpp.codes import Command, Status, action_of, status_name
from service.gateways.smpp.gate import ORDINARY, Gate, GateShut
from service.gateways.smpp.options import SmppOptions
from service.gateways.smpp.outgoing import submissions
from service.gateways.smpp.ports import (
    Accepted,
    NotSent,
    Outgoing,
    Refused,
    SmppError,
    SubmitResult,
    Throttled,
    Uncertain,
)
from service.gateways.smpp.session import LinkDown, LinkLost, NoResponse, Pending, Session

_BETWEEN_TRIES_S = 5.0


class NotBound(SmppError):
    """No bind to send over in the time given; the message tells why."""


class Binds(Protocol):
    """Where the session comes from that is bound at the moment."""

    async def bound(self, deadline: float) -> Session:
        """Return the bound session, waiting for one. Raises NotBound at the deadline."""


@dataclass(frozen=True, slots=True)
class Taken:
    """One part was taken under an id."""

    message_id: str


Fate: TypeAlias = Taken | Refused | Throttled | Uncertain | NotSent
Settled: TypeAlias = Callable[[str, SubmitResult], None]


def fate_of(response: Pdu, pause: float) -> Fate:
    """Read the fate of a part from the response to it."""
    if response.status == Status.ESME_ROK and response.command != Command.GENERIC_NACK:
        return Taken(response.body.id if isinstance(response.body, IdBody) else "")
    action = action_of(response.status)
    if action == "throttle":
        return Throttled(pause)
    permanent = action in ("fail_this_recipient", "bug_in_our_request")
    return Refused(
        kind="permanent" if permanent else "temporary",
        code=response.status,
        reason=status_name(response.status),
        alert=action in ("stop_and_alert", "bug_in_our_request"),
    )


def result_of(fates: Sequence[Fate]) -> SubmitResult:
    """Return what became of a message from the fates of its parts."""
    ids = tuple(fate.message_id for fate in fates if isinstance(fate, Taken))
    failed = [fate for fate in fates if not isinstance(fate, Taken)]
    if not failed:
        return Accepted(ids)
    unknown = [fate for fate in failed if isinstance(fate, Uncertain)]
    if unknown:
        return Uncertain(unknown[0].reason, ids)
    if ids:
        return Uncertain(f"{len(ids)} of {len(fates)} parts were taken: {failed[0]}", ids)
    return failed[0]


def _wait_before_again(fate: Fate) -> float | None:
    """How long to wait before a part is tried again [s]; None when that is of no use or risky."""
    match fate:
        case Throttled(retry_after):
            return retry_after
        case Refused(kind="temporary", alert=False):
            return _BETWEEN_TRIES_S
    return None


class Submitter:
    """Sends texts over whichever session is bound, at the pace that the gate allows."""

    def __init__(
        self,
        options: SmppOptions,
        binds: Binds,
        gate: Gate,
        clock: Callable[[], datetime],
        settled: Settled,
    ) -> None:
        self._options, self._binds, self._gate = options, binds, gate
        self._clock, self._settled = clock, settled
        self._loop = asyncio.get_running_loop()
        self._missing = 0

    async def submit(self, outgoing: Outgoing, deadline: float) -> SubmitResult:
        """Send every part, the first before the deadline or none, and wait for the responses.

        Half a message helps nobody. So once one part has left the others have at least a
        response's time limit to follow, and once one was taken, another that the centre throttles
        or cannot take just now is tried again.
        """
        if self._options.mode == "receiver":
            return NotSent("a bind that only receives")
        try:
            bodies = submissions(outgoing, self._options, self._clock())
        except ValueError as error:
            return Refused("permanent", None, str(error))
        message = _Message(outgoing.id, [NotSent("not reached")] * len(bodies), self._settled)
        for number, body in enumerate(bodies):
            await self._submit_part(message, number, body, deadline)
            if not message.worth_going_on(number):
                break
            deadline = max(deadline, self._loop.time() + self._options.timers.response)
        message.told = result_of(message.fates)
        return message.told

    async def submit_urgent(self, body: MessageBody, deadline: float, priority: int) -> Fate:
        """Send one submission ahead of those that can wait."""
        fate, _ = await self._transmit(body, deadline, priority)
        return fate

    async def _submit_part(
        self, message: _Message, number: int, body: MessageBody, deadline: float
    ) -> None:
        while True:
            fate, pending = await self._transmit(body, deadline, ORDINARY)
            message.fates[number] = fate
            if isinstance(fate, Uncertain) and pending is not None:
                self._listen(message, number, pending)
            wait = _wait_before_again(fate) if message.taken else None
            if wait is None or self._loop.time() + wait >= deadline:
                return
            await asyncio.sleep(wait)

    def _listen(self, message: _Message, number: int, pending: Pending) -> None:
        """Take the response should it still come."""

        def late(response: asyncio.Future[Pdu]) -> None:
            if not response.cancelled() and response.exception() is None:
                self._note(response.result(), pending.sent_at)
                message.late(number, fate_of(response.result(), self._pause_left()))

        pending.response.add_done_callback(late)

    async def _transmit(
        self, body: MessageBody, deadline: float, priority: int
    ) -> tuple[Fate, Pending | None]:
        """Send one submission and return its fate, and the request if it had left."""
        try:
            while True:
                await self._binds.bound(deadline)
                await self._gate.enter(deadline, priority)
                try:
                    # The bind may have ended while we waited for our turn.
                    session = await self._binds.bound(self._loop.time())
                    return await self._exchange(session, body)
                except (NotBound, LinkDown):
                    continue
                finally:
                    self._gate.leave()
        except NotBound as fault:
            return NotSent(str(fault)), None
        except GateShut as shut:
            if shut.paused:
                return Throttled(shut.paused), None
            return NotSent("the pace allowed no more in the time given"), None
        except ValueError as error:
            return Refused("permanent", None, str(error)), None

    async def _exchange(self, session: Session, body: MessageBody) -> tuple[Fate, Pending]:
        pending = session.send(Command.SUBMIT_SM, body)
        try:
            response = await session.answer(pending, self._options.timers.response)
        except NoResponse as fault:
            self._count_missing(session)
            return Uncertain(str(fault)), pending
        except LinkLost as fault:
            return Uncertain(f"no response before the end of the link: {fault}"), pending
        self._note(response, pending.sent_at)
        if action_of(response.status) == "rebind":
            session.close(f"the centre says {status_name(response.status)}")
        return fate_of(response, self._pause_left()), pending

    def _count_missing(self, session: Session) -> None:
        if session.closed:
            return
        self._missing += 1
        if self._missing >= self._options.silent_responses:
            self._missing = 0
            session.close("responses stay out")

    def _note(self, response: Pdu, sent_at: float) -> None:
        """Learn from a response how fast the centre wants messages."""
        self._missing = 0
        if response.status == Status.ESME_ROK:
            self._gate.pace.accepted(sent_at)
        elif action_of(response.status) == "throttle":
            self._gate.pace.throttled(self._loop.time(), sent_at)

    def _pause_left(self) -> float:
        return self._gate.pace.pause_left(self._loop.time())


class _Message:
    """The fates of one message's parts, and what was told of them."""

    def __init__(self, id_: str, fates: list[Fate], settled: Settled) -> None:
        self.id, self.fates, self._settled = id_, fates, settled
        self.told: SubmitResult | None = None

    @property
    def taken(self) -> bool:
        return any(isinstance(fate, Taken) for fate in self.fates)

    def worth_going_on(self, number: int) -> bool:
        """Whether the parts behind this one should leave.

        A missing response is more often lost than the message: then the rest must follow for
        the phone to show anything. After a refusal it must not.
        """
        return isinstance(self.fates[number], Taken | Uncertain)

    def late(self, number: int, fate: Fate) -> None:
        """Take a fate that came late, and tell it if nothing is unknown any more."""
        self.fates[number] = fate
        if not isinstance(self.told, Uncertain):
            return
        result = result_of(self.fates)
        if not isinstance(result, Uncertain):
            self.told = result
            self._settled(self.id, result)
