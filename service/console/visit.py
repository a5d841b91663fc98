"""What a visitor's cookie holds: their two phones, and the last screens each of them showed.

Flask signs the cookie, so that nobody can take another visitor's conversation; the screens in it
are only the visitor's own. The conversation itself is kept where all conversations are.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Literal, TypeAlias, get_args

from service.channels import Reply

KEPT_SCREENS = 2
"""Earlier screens of a call; with the longest ones on both phones the cookie stays below 4 KB."""
LONGEST_ECHO = 40
"""Letters of an answer repeated on the page."""
COOKIE = "visit"
Channel: TypeAlias = Literal["ussd", "sms"]
CHANNELS: tuple[Channel, ...] = get_args(Channel)
PHONES = ("a", "b")


@dataclass(frozen=True, slots=True)
class Exchange:
    """A screen, and what was answered to it."""

    screen: str
    answer: str


@dataclass(frozen=True, slots=True)
class Handheld:
    """One phone: a random number, the number of its call, its last step and what it showed.

    `texts` counts what it texted; texts themselves are kept where all texts are.
    """

    visitor: str
    language: str
    channel: Channel = "ussd"
    call: int = 0
    step: int = -1
    screen: str = ""
    more: bool = False
    earlier: tuple[Exchange, ...] = ()
    texts: int = 0

    @property
    def begun(self) -> bool:
        """Whether there is a call to show."""
        return self.step >= 0

    @property
    def number(self) -> str:
        """The name under which the phone is kept where phones have a number."""
        return f"handset:{self.visitor}"

    @property
    def gateway_session(self) -> str:
        """The id of the call now shown."""
        return f"{self.visitor}-{self.call}"

    @property
    def expected(self) -> int:
        """The count that the next form of this phone carries."""
        return self.texts if self.channel == "sms" else self.step + 1

    def dialled(self) -> Handheld:
        """The phone beginning a new call."""
        return replace(self, call=self.call + 1, step=-1, screen="", earlier=())

    def shown(self, reply: Reply, answer: str | None = None) -> Handheld:
        """The phone after one more step; without an answer the screen is just replaced."""
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
        )


@dataclass(frozen=True, slots=True)
class Visit:
    """A visitor with two phones: the token of their forms, and which phone was used last."""

    token: str
    phones: Mapping[str, Handheld] = field(default_factory=dict)
    last: str = "a"
    notice: str = ""

    def with_phone(self, which: str, phone: Handheld, notice: str = "") -> Visit:
        """The visitor after something happened on one phone."""
        return replace(self, phones={**self.phones, which: phone}, last=which, notice=notice)

    def to_cookie(self) -> dict[str, Any]:
        """The visit as JSON values."""
        return asdict(self)

    @classmethod
    def from_cookie(cls, values: Any) -> Visit | None:
        """The visit that `to_cookie` wrote, or None when it is none of ours or of an older kind."""
        try:
            phones = {which: _phone(values["phones"][which]) for which in PHONES}
            return cls(**{**values, "phones": phones})
        except (KeyError, TypeError):
            return None


def _phone(values: Mapping[str, Any]) -> Handheld:
    earlier = tuple(Exchange(**one) for one in values["earlier"])
    return Handheld(**{**values, "earlier": earlier})


def new_visit(language: str, new_id: Callable[[], str]) -> Visit:
    """A visitor who has not been here before."""
    phones = {which: Handheld(new_id(), language) for which in PHONES}
    return Visit(secrets.token_urlsafe(16), phones)
