"""What comes in and goes out in one turn, whatever carries it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from service.errors import LitrelineError
from service.records import Step

Phase: TypeAlias = Literal["begin", "continue", "abort"]


class Conflict(LitrelineError):
    """A message under a key that was used for another one; nothing was changed."""


@dataclass(frozen=True, slots=True)
class Reply:
    """What the caller sees next, whether an answer is awaited, and the language it is in."""

    text: str
    more: bool
    language: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Incoming:
    """One message of a caller.

    `step` counts the messages of a gateway session, 0 at its beginning. `language` is set by a
    channel on which the language is chosen beside the conversation: a caller who begins is then
    spoken to in it, and a running conversation is shown again in it.
    """

    channel: str
    number: str = field(repr=False)
    gateway_session: str
    step: int
    text: str = field(default="", repr=False)
    phase: Phase = "continue"
    service_code: str = ""
    language: str | None = None

    @property
    def key(self) -> Step:
        """The step with a hash of all that was said in it, by which a repetition is known."""
        said = "\x1f".join(
            (self.phase, self.number, self.service_code, self.language or "", self.text)
        )
        return Step(self.step, hashlib.sha256(said.encode("utf-8", "replace")).hexdigest())

    @property
    def readable_text(self) -> str:
        """The text without what no keypad sends and no column keeps: control signs, halves."""
        return readable(self.text)


def readable(text: str) -> str:
    """Return a text without control signs and halves of characters."""
    whole = text.encode("utf-8", "replace").decode("utf-8")
    return "".join(letter if letter.isprintable() else " " for letter in whole)
