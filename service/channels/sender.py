"""Sending from the outbox: claim, write that it is being submitted, submit, keep what came of it.

Any number of senders may work at one outbox. What one of them holds when it dies is taken up by
another after the lease: as it was, or as uncertain when its bytes may have left.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial

from service.channels.bucket import Bucket
from service.channels.gateway import Accepted, Answer, Gateway, NotNow, Outgoing, Refused
from service.channels.verdict import Judge
from service.records import Claimed, Settlement, UnitOfWork, require_aware

LEASE = timedelta(seconds=60)
"""How long a claim stands, unless a deployment says otherwise.

In its first half messages leave, and the second is for their answers: a gateway must give up
waiting for one within that. What did not leave in time goes back into the queue.
"""
WINDOW = 64
"""Most messages between two commits."""


@dataclass(frozen=True, slots=True)
class Round:
    """What one look at the outbox did: messages handled, and seconds to wait if the pace asks."""

    handled: int
    wait_s: float = 0.0
    alert: str = ""
    """What somebody has to mend, in the gateway's words."""


class Sender:
    """Sends what is due, through one gateway.

    `seconds` is a steady clock [s], for the pace. With several `lanes` so many messages are on
    the way at once, never two of one phone.
    """

    def __init__(
        self,
        *,
        unit_of_work: Callable[[], UnitOfWork],
        gateway: Gateway,
        judge: Judge,
        bucket: Bucket,
        new_id: Callable[[], str],
        clock: Callable[[], datetime],
        seconds: Callable[[], float],
        lanes: int = 1,
        window: int = WINDOW,
        lease: timedelta = LEASE,
    ) -> None:
        self._unit_of_work, self._gateway, self._judge = unit_of_work, gateway, judge
        self._bucket, self._new_id = bucket, new_id
        self._clock, self._seconds = clock, seconds
        self._window, self._lease = window, lease
        self._pool = ThreadPoolExecutor(lanes, "lane") if lanes > 1 else None

    def once(self) -> Round:
        """Send at most one window of what is due."""
        now = require_aware(self._clock())
        permits = min(self._bucket.permits(self._seconds()), self._window)
        if not permits:
            return Round(0, self._bucket.wait(self._seconds()))
        owner = self._new_id()
        claimed, leaving = self._claimed(owner, now, permits)
        if leaving:
            self._bucket.take(len(leaving), self._seconds())
        alert = self._settled(owner, self._submitted(leaving, now + self._lease / 2))
        return Round(claimed, 0.0, alert)

    def close(self) -> None:
        """Let the lanes end."""
        if self._pool is not None:
            self._pool.shutdown()

    def _claimed(self, owner: str, now: datetime, limit: int) -> tuple[int, list[Claimed]]:
        """How many were taken, and those of them that leave now.

        That they are being submitted is written down before any byte of them leaves.
        """
        with self._unit_of_work() as work:
            if not work.outbox.due(now):
                return 0, []
            work.outbox.doubt(now, self._judge.doubt_settled_at(now))
            claimed = work.outbox.claim(owner, now, now + self._lease, limit)
            leaving = [one for one in claimed if not self._kept_back(work, owner, one, now)]
            if leaving:
                work.outbox.submitting(owner, now + self._lease)
            work.commit()
            return len(claimed), leaving

    def _kept_back(self, work: UnitOfWork, owner: str, one: Claimed, now: datetime) -> bool:
        """Whether a message must not leave now, as consent, the hour and its own time stand."""
        reason = self._judge.before(one, now)
        if reason is not None:
            work.outbox.settle(one.message.id, owner, reason)
        return reason is not None

    def _submitted(
        self, leaving: Sequence[Claimed], until: datetime
    ) -> Iterable[tuple[Claimed, Answer]]:
        submit = partial(self._submit, until=until)
        if self._pool is None or len(leaving) < 2:
            return [(one, submit(one)) for one in leaving]
        return zip(leaving, self._pool.map(submit, leaving), strict=True)

    def _submit(self, claimed: Claimed, until: datetime) -> Answer:
        message, now = claimed.message, self._clock()
        if now >= until:
            return NotNow("the gateway was too slow for all that were taken", 0.0, slower=True)
        outgoing = Outgoing(
            message.id, claimed.number, message.text, message.sender, message.not_after - now
        )
        return self._gateway.submit(outgoing, now)

    def _settled(self, owner: str, answers: Iterable[tuple[Claimed, Answer]]) -> str:
        settlements: list[tuple[str, Settlement]] = []
        alert = ""
        for one, answer in answers:
            alert = self._noted(answer) or alert
            verdict = self._judge.after(one.message, answer, self._clock())
            settlements.append((one.message.id, verdict))
        if settlements:
            with self._unit_of_work() as work:
                for message_id, verdict in settlements:
                    work.outbox.settle(message_id, owner, verdict)
                work.commit()
        return alert

    def _noted(self, answer: Answer) -> str:
        """Let the pace know, and return what somebody has to mend."""
        now = self._seconds()
        if isinstance(answer, Accepted):
            self._bucket.went_well(now)
        elif isinstance(answer, NotNow) and answer.slower:
            self._bucket.slow_down(now, answer.after or 0.0)
        elif isinstance(answer, Refused) and answer.alert:
            self._bucket.slow_down(now)
            return answer.reason
        return ""
