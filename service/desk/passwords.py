"""Passwords: what may be one, and who hashes them."""

from __future__ import annotations

from typing import Protocol

from service.desk.refusals import DeskRefused
from service.phrases import say

LEAST_LETTERS, MOST_LETTERS = 12, 200
"""Length alone decides: a sentence is easier to keep than signs. The upper end only bounds the
work of hashing (our choice)."""


class Hasher(Protocol):
    """Turns a password into something from which it cannot be had back."""

    def hash(self, password: str) -> str:
        """Return what is kept; the same password gives another one each time."""

    def verify(self, kept: str, password: str) -> bool:
        """Whether a password is the one that was kept; takes as long either way."""

    def stale(self, kept: str) -> bool:
        """Whether it was hashed with less work than is asked for today."""


def checked_password(password: str) -> str:
    """Return a password that may be one. Raises DeskRefused when it is too short or too long."""
    if len(password) < LEAST_LETTERS:
        raise DeskRefused(
            say(
                "A password needs at least {count} letters: a short sentence is easy to keep.",
                count=LEAST_LETTERS,
            )
        )
    if len(password) > MOST_LETTERS:
        raise DeskRefused(say("A password has at most {count} letters.", count=MOST_LETTERS))
    return password
