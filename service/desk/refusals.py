"""What the desk refuses, in words for the person who sits at it."""

from __future__ import annotations

from service.errors import LitrelineError
from service.phrases import Phrase, say
from service.sizing.plain import plain_english


class DeskRefused(LitrelineError):
    """Something that the desk does not do; `phrase` says why and what to do instead."""

    def __init__(self, phrase: Phrase) -> None:
        self.phrase = phrase
        super().__init__(plain_english(phrase))


class NotYours(DeskRefused):
    """The account's roles or districts do not allow it."""


class Unknown(DeskRefused):
    """Nothing is kept under that id."""


class Clash(DeskRefused):
    """Somebody else changed the same thing first."""


def not_yours() -> NotYours:
    """Return the refusal of a role."""
    return NotYours(say("Your account may not do this. Ask an admin."))


def not_your_district() -> NotYours:
    """Return the refusal of a district."""
    return NotYours(say("This is outside your districts."))


def unknown() -> Unknown:
    """Return the refusal of an id."""
    return Unknown(say("This is no longer there. Go back and look again."))


def clash() -> Clash:
    """Return the refusal of a change that came second."""
    return Clash(say("Somebody else changed this at the same moment. Look again, then repeat."))
