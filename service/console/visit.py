"""What a visitor's cookie holds: who they are to us, and the last screens they saw.

Flask signs the cookie, so that nobody can take another visitor's conversation; the screens in it
are only the visitor's own. The conversation itself is kept where all conversations are.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from typing import Any

from service.channels import Reply

KEPT_SCREENS = 5
"""Earlier screens shown on the page; with the longest ones the cookie stays below 4 KB."""
LONGEST_ECHO = 40
"""Letters of an answer repeated on the page."""
COOKIE = "visit"


@dataclass(frozen=True, slots=True)
class Exchange:
    """A screen, and what was answered to it."""

    screen: str
    answer: str


@dataclass(frozen=True, slots=True)
class Visit:
    """A visitor: a random id, the number of the call, its last step and what it showed."""

    visitor: str
    token: str
    language: str
    call: int = 0
    step: int = -1
    screen: str = ""
    more: bool = False
    earlier: tuple[Exchange, ...] = ()
    notice: str = ""

    @property
    def begun(self) -> bool:
        """Whether there is a call to show."""
        return self.step >= 0

    @property
    def number(self) -> str:
        """The name under which the visitor is kept where phones have a number."""
        return f"handset:{self.visitor}"

    @property
    def gateway_session(self) -> str:
        """The id of the call now shown."""
        return f"{self.visitor}-{self.call}"

    def dialled(self) -> Visit:
        """The visitor beginning a new call."""
        return replace(self, call=self.call + 1, step=-1, screen="", earlier=(), notice="")

    def shown(self, reply: Reply, answer: str | None = None) -> Visit:
        """The visitor after one more step; without an answer the screen is just replaced."""
        earlier = self.earlier
        if answer is not None:
            earlier = (*earlier, Exchange(self.screen, answer[:LONGEST_ECHO]))[-KEPT_SCREENS:]
        return replace(
            self,
            step=self.step + 1,
            screen=reply.text,
            more=reply.more,
            language=reply.language,
            earlier=earlier,
            notice="",
        )

    def to_cookie(self) -> dict[str, Any]:
        """The visit as JSON values."""
        return asdict(self)

    @classmethod
    def from_cookie(cls, values: Any) -> Visit | None:
        """The visit that `to_cookie` wrote, or None when it is none of ours or of an older kind."""
        try:
            earlier = tuple(Exchange(**one) for one in values["earlier"])
            return cls(**{**values, "earlier": earlier})
        except (KeyError, TypeError):
            return None


def new_visit(language: str, new_id: Callable[[], str]) -> Visit:
    """A visitor who has not been here before."""
    return Visit(new_id(), secrets.token_urlsafe(16), language)
