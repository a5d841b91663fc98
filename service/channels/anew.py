"""What taking turns, texts and calls share: judged anew when another came first; each id once."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from service.channels.messages import Conflict
from service.records import ConcurrentChange, UnitOfWork

Judged = TypeVar("Judged")


def judged_anew(judge: Callable[[], Judged], attempts: int, in_vain: str) -> Judged:
    """Return what a judgement comes to, made anew as long as another change came first.

    Raises
    ------
    Conflict
        With the words `in_vain`, after so many attempts.
    """
    for _ in range(attempts):
        try:
            return judge()
        except ConcurrentChange:
            continue
    raise Conflict(in_vain)


def came_before(work: UnitOfWork, gateway: str, id_: str, body_hash: str, what: str) -> bool:
    """Whether a gateway's id is kept already. Raises Conflict when it is that of another one."""
    earlier = work.inbox.find(gateway, id_)
    if earlier is None:
        return False
    if earlier.body_hash != body_hash:
        raise Conflict(f"this id was already used for another {what}")
    return True
