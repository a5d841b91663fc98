"""What the rest of the service asks of an engine for jobs, and what it promises."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Event
from typing import Protocol, TypeAlias


@dataclass(frozen=True, slots=True)
class Wait:
    """A step that could not go on: call it again with the same cursor after so long [s]."""

    seconds: float


Outcome: TypeAlias = str | Wait | None
"""What a step returns: the next cursor, a pause, or None when the batch is done or given up."""

Scan: TypeAlias = Callable[[datetime], None]
"""Looks for what is due at a moment. Called again for the same moment it must change nothing."""

Step: TypeAlias = Callable[[str, str], Outcome]
"""Does the part of a batch after a cursor: `step(key, cursor)`, with "" at the first call.

A step is one transaction of our own database. The engine notes the cursor only after it, so a
process killed in between repeats that one step. A step also looks at its own row: paused, it
returns a Wait; cancelled, None. And it takes the cursor of that row over an older one it is given,
"" above all: the engine's notes may be lost with its file, and then the batch begins anew.
"""


class Jobs(Protocol):
    """Scans and batches. Everything is registered before `run`; each process registers alike."""

    def every(self, name: str, period: timedelta, scan: Scan) -> None:
        """Call a scan once in each period, in one process of all that run.

        Periods are counted from 1970 in UTC. Of those that passed while nobody ran, or in which
        the scan was still busy, only the latest is made up for. A clock set back delays scans,
        at most until it has caught up, and never repeats one.
        """

    def batch(self, name: str, step: Step) -> None:
        """Register the step of a batch."""

    def start(self, name: str, key: str) -> bool:
        """Begin a batch; False, and nothing changed, while one with this key is under way.

        May be called from a process that runs nothing. A key that was done begins anew.
        """

    def described(self) -> tuple[str, ...]:
        """Say what is registered, a line for each."""

    def run(self, stop: Event) -> None:
        """Do what is due until told to stop; the step under way is finished first."""

    def close(self) -> None:
        """Let go of what was opened."""


def require_name(name: str) -> str:
    """Return a name that engines may keep. Raises ValueError for any other."""
    if not re.fullmatch(r"[a-z][a-z0-9-]{0,40}", name):
        raise ValueError(f"not a name of a job: {name!r}; small letters, digits and dashes")
    return name


def require_key(key: str) -> str:
    """Return a key that engines may keep. Raises ValueError for any other."""
    if not re.fullmatch(r"[A-Za-z0-9_.-]{1,80}", key):
        raise ValueError(f"not a key of a batch: {key!r}; letters, digits, dashes and dots")
    return key


def moved(cursor: str, outcome: Outcome) -> Outcome:
    """Return the outcome. Raises ValueError for a cursor that has not moved: it never would."""
    if outcome == cursor:
        raise ValueError("a step returned the cursor that it was given")
    return outcome
