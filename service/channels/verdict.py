"""What is decided about one message: before it leaves, and after the gateway has answered.

Everything here is a function of the message, the answer and the moment.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.channels.gateway import Accepted, Answer, NotNow, Refused, Unknown
from service.channels.hours import Hours
from service.channels.kinds import RULES
from service.records import Claimed, Message, Settlement, State

RETRY_S: tuple[float, ...] = (5, 30, 120, 600, 3600, 10_800)
"""Waits between attempts [s], the last one again and again: our own judgement."""
JITTER = 0.2
MOST_FAILED_DAYS = 3
"""After failing for good on so many different days a number is left alone until it is heard of."""
PAUSED = "the number is paused: on three days the network said that nobody is there"
SETTLE_FOR = timedelta(seconds=90)
"""How long a receipt may settle what no answer did, before anything is sent again."""


@dataclass(frozen=True, slots=True)
class Judge:
    """Decides by the rules of the kinds.

    `chance` returns a number from 0 up to 1; `repeatable` says that the gateway delivers the
    same id once however often it gets it.
    """

    hours: Hours
    chance: Callable[[], float]
    repeatable: bool
    retry_s: tuple[float, ...] = RETRY_S
    settle_for: timedelta = SETTLE_FOR
    hours_of: Callable[[Claimed], Hours] | None = None
    """The decent hours of whoever a message is for; without it `hours` holds for everybody."""

    def doubt_settled_at(self, now: datetime) -> datetime:
        """When a message whose sender died while submitting is looked at again.

        A gateway that cannot tell a repetition gets time for a receipt first.
        """
        return now if self.repeatable else now + self.settle_for

    def before(self, claimed: Claimed, now: datetime) -> Settlement | None:
        """Return why a message must not leave now; None when it may."""
        message, rule = claimed.message, RULES[claimed.message.kind]
        if now >= message.not_after:
            return self._stale(message, now)
        if claimed.failed_days >= MOST_FAILED_DAYS:
            return _ended(message, "failed", now, PAUSED)
        if rule.needs_consent and not claimed.consent:
            return _ended(message, "failed", now, "no consent to reminders")
        hours = self.hours_of(claimed) if self.hours_of else self.hours
        if rule.quiet_at_night and (decent := hours.next(now)) > now:
            return _waiting(message, min(decent, message.not_after), message.reason)
        if message.uncertain_since is not None and not self.repeatable:
            held = rule.in_doubt == "hold" or message.resends > 0
            return _unknown_for_good(message, now) if held else None
        return None

    def after(self, message: Message, answer: Answer, now: datetime) -> Settlement:
        """Return what an answer makes of a message that was submitted for the nth time."""
        tried = message.attempts + 1
        resends = message.resends + (message.uncertain_since is not None)
        match answer:
            case Accepted(message_ids):
                return Settlement(
                    "accepted", False, now, tried, resends, None, "", now, message_ids
                )
            case Refused(reason, alert, nobody):
                if alert:
                    # The fault is not the message's: it waits until somebody has mended it.
                    return _waiting(message, now + timedelta(seconds=self._wait(tried)), reason)
                if message.uncertain_since is not None and not self.repeatable:
                    return _unknown_for_good(message, now)
                return Settlement(
                    "failed", False, now, tried, resends, None, reason, now, nobody=nobody
                )
            case NotNow(reason, seconds, slower):
                if slower:
                    wait = timedelta(seconds=seconds or self._wait(1))
                    return _waiting(message, now + wait, reason)
                return self._again(message, tried, resends, reason, now, seconds)
            case Unknown(reason, message_ids):
                return self._doubtful(message, tried, resends, reason, now, message_ids)

    def _again(
        self,
        message: Message,
        tried: int,
        resends: int,
        reason: str,
        now: datetime,
        seconds: float | None,
    ) -> Settlement:
        wait = timedelta(seconds=max(seconds or 0.0, self._wait(tried)))
        since = message.uncertain_since
        if now + wait >= message.not_after:
            ended: State = "failed" if since is None else "uncertain"
            why = f"gave up: {reason}"
            return Settlement(ended, False, now, tried, resends, since, why, now)
        state: State = "queued" if since is None else "uncertain"
        return Settlement(state, True, now + wait, tried, resends, since, reason)

    def _doubtful(
        self,
        message: Message,
        tried: int,
        resends: int,
        reason: str,
        now: datetime,
        message_ids: tuple[str, ...],
    ) -> Settlement:
        since = message.uncertain_since or now
        wait = timedelta(seconds=self._wait(tried)) if self.repeatable else self.settle_for
        if now + wait >= message.not_after:
            why = f"gave up: {reason}"
            return Settlement("uncertain", False, now, tried, resends, since, why, now, message_ids)
        return Settlement(
            "uncertain", True, now + wait, tried, resends, since, reason, None, message_ids
        )

    def _stale(self, message: Message, now: datetime) -> Settlement:
        if message.uncertain_since is not None:
            return _unknown_for_good(message, now)
        return _ended(message, "expired", now, message.reason or "too late to be of use")

    def _wait(self, tried: int) -> float:
        """The wait after the nth attempt [s], spread so that not all come back at once."""
        wait = self.retry_s[min(tried, len(self.retry_s)) - 1]
        return wait * (1 + JITTER * (2 * self.chance() - 1))


def _waiting(message: Message, until: datetime, reason: str) -> Settlement:
    """Back into the queue; this attempt does not count."""
    since = message.uncertain_since
    state: State = "queued" if since is None else "uncertain"
    return Settlement(state, True, until, message.attempts, message.resends, since, reason)


def _ended(message: Message, state: State, now: datetime, reason: str) -> Settlement:
    return Settlement(state, False, now, message.attempts, message.resends, None, reason, now)


def _unknown_for_good(message: Message, now: datetime) -> Settlement:
    since = message.uncertain_since
    why = f"gave up: {message.reason or 'nobody knows whether it arrived'}"
    return Settlement("uncertain", False, now, message.attempts, message.resends, since, why, now)
