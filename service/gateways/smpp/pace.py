"""How fast we may send: a token bucket, and what a centre's "too fast" does to it.

Pure arithmetic on moments of one steady clock [s]. The figures for pause, halving and recovery
are our own judgement.
"""

from __future__ import annotations

from math import inf

FIRST_PAUSE_S, LONGEST_PAUSE_S = 1.0, 30.0
RECOVERY_STEP_S, RECOVERY_SHARE = 60.0, 0.1
SLOWEST_SHARE = 1 / 32
"""The rate is never halved below this share of the contract's."""
_ROUNDING_S = 1e-6
# A wait that only rounding leaves over would be too short for a clock to notice.


class Pace:
    """Permits of one bind. A burst is what the rate allows in a second, and at least one."""

    def __init__(self, per_second: float, now: float) -> None:
        self._contract = self._rate = per_second
        self._tokens, self._counted_at = max(1.0, per_second), now
        self._paused_until = self._slowed_at = now
        self._throttled_at = -inf
        self._pause = FIRST_PAUSE_S

    def rate(self, now: float) -> float:
        """Messages a second that are allowed at a moment."""
        minutes = (now - self._slowed_at) // RECOVERY_STEP_S
        return min(self._contract, self._rate + minutes * RECOVERY_SHARE * self._contract)

    def wait(self, now: float) -> float:
        """How long until one more message may leave [s]; 0 when it may leave now."""
        self._count(now)
        missing = max(0.0, 1.0 - self._tokens)
        wait = self.pause_left(now) + missing / self.rate(now)
        return wait if wait > _ROUNDING_S else 0.0

    def pause_left(self, now: float) -> float:
        """How long the centre's last "too fast" still holds everything up [s]."""
        return max(0.0, self._paused_until - now)

    def take(self, now: float) -> None:
        """Spend one permit."""
        self._count(now)
        self._tokens -= 1.0

    def throttled(self, now: float, sent_at: float) -> None:
        """Pause and halve the rate, because of a message that left at `sent_at`.

        A window full of messages that left before the pause says "too fast" only once.
        """
        if sent_at <= self._throttled_at:
            return
        self._rate = max(self.rate(now) / 2, self._contract * SLOWEST_SHARE)
        self._paused_until = now + self._pause
        self._pause = min(self._pause * 2, LONGEST_PAUSE_S)
        self._throttled_at = self._slowed_at = now
        # What was saved up before is not let out in one burst after the pause.
        self._tokens, self._counted_at = min(self._tokens, 1.0), self._paused_until

    def accepted(self, sent_at: float) -> None:
        """Note that a message was taken: after the pause, that ends the doubling."""
        if sent_at >= self._paused_until:
            self._pause = FIRST_PAUSE_S

    def _count(self, now: float) -> None:
        if now > self._counted_at:
            rate = self.rate(now)
            self._tokens += (now - self._counted_at) * rate
            self._tokens, self._counted_at = min(self._tokens, max(1.0, rate)), now
