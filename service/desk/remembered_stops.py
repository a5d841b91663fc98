"""Numbers that asked to be forgotten and left alone: known again by a keyed hash, and only so.

Whoever is erased leaves no number behind. A line of the log keeps the hash of the number and
whether its owner wanted to be left alone, so that a list taken in later does not undo that wish.
Whoever calls by themselves begins anew.
"""

from __future__ import annotations

from collections.abc import Callable

from service.records import UnitOfWork, number_hash

ERASED = "caller.erased"
MOST_REMEMBERED = 100_000


def asked_to_be_forgotten(work: UnitOfWork, key: str) -> Callable[[str], bool]:
    """Return whether a number was erased while its owner wanted to be left alone."""
    lines = work.accounts.lines(actions=(ERASED,), limit=MOST_REMEMBERED)
    marks = {line.subject_id for line in lines if line.detail.get("left_alone")}
    return lambda number: bool(marks) and number_hash(number, key) in marks
