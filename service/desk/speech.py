"""What a caller will see of a screen: its pages, by USSD and by text, with what each costs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from service.channels import cost_of
from service.channels.talk import Render
from service.dialogue import Vocabulary
from service.phrases import Phrase, Screen

Translate: TypeAlias = Callable[[Phrase, str], str]


@dataclass(frozen=True, slots=True)
class Page:
    """One page or text: units of its alphabet used, of how many, and parts as a text."""

    text: str
    units: int
    room: int
    parts: int


@dataclass(frozen=True, slots=True)
class Seen:
    """What a caller sees of one screen."""

    ussd: tuple[Page, ...]
    sms: tuple[Page, ...]


@dataclass(frozen=True, slots=True)
class Speech:
    """How phrases become words: `ussd` and `sms` make pages, `translate` says one phrase."""

    ussd: Render
    sms: Render
    translate: Translate
    words_for: Callable[[str], Vocabulary]

    def seen(self, screen: Screen, language: str) -> Seen:
        """Return the pages of a screen in a caller's language."""
        return Seen(
            tuple(map(page, self.ussd(screen, language))),
            tuple(map(page, self.sms(screen, language))),
        )


def page(text: str) -> Page:
    """Return a text with what it costs."""
    cost = cost_of(text)
    return Page(text, cost.units, cost.room, cost.parts)
