"""How fast messages may leave: a bucket of permits that fills at a steady rate.

Pure arithmetic on moments of one steady clock [s]. The pauses are our own judgement.
"""

from __future__ import annotations

FIRST_PAUSE_S, LONGEST_PAUSE_S = 1.0, 30.0


class Bucket:
    """Permits of one gateway; a burst is what the rate allows in a second, and at least one."""

    def __init__(self, per_second: float, now: float) -> None:
        self._rate, self._burst = per_second, max(1.0, per_second)
        self._permits, self._counted_at = self._burst, now
        self._closed_until, self._pause = now, FIRST_PAUSE_S

    def permits(self, now: float) -> int:
        """How many messages may leave now."""
        self._count(now)
        return int(self._permits) if now >= self._closed_until else 0

    def wait(self, now: float) -> float:
        """How long until one may leave [s]."""
        self._count(now)
        missing = max(0.0, 1.0 - self._permits) / self._rate
        return max(missing, self._closed_until - now, 0.0)

    def take(self, count: int, now: float) -> None:
        """Spend permits."""
        self._count(now)
        self._permits -= count

    def slow_down(self, now: float, told: float = 0.0) -> None:
        """Let nothing out for as long as the network told [s], because it asked.

        When it told nothing, each pause is twice as long as the one before.
        """
        if now < self._closed_until:
            # Messages that left before the pause say the same once more.
            self._closed_until = max(self._closed_until, now + told)
            return
        self._closed_until = now + (told or self._pause)
        if not told:
            self._pause = min(self._pause * 2, LONGEST_PAUSE_S)
        self._permits = min(self._permits, 1.0)

    def went_well(self, now: float) -> None:
        """Note that a message was taken after the last pause."""
        if now >= self._closed_until:
            self._pause = FIRST_PAUSE_S

    def _count(self, now: float) -> None:
        self._permits = min(self._burst, self._permits + (now - self._counted_at) * self._rate)
        self._counted_at = now
