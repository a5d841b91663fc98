"""What a text message is answered with: which conversation it begins or goes on with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from service.channels.talk import Talk, View
from service.phrases import Phrase, Screen, say
from service.records import Kind, Session

_SURE = 2
"""So many answers in a first text are no accident."""


@dataclass(frozen=True, slots=True)
class Word:
    """A view, and the kind of message it leaves as."""

    view: View
    kind: Kind = "answer"


class Replies:
    """Chooses the reply to a text."""

    def __init__(self, talk: Talk, answers_flow: str | None) -> None:
        self._talk, self._answers_flow = talk, answers_flow

    def word(
        self,
        session: Session,
        text: str,
        known: Mapping[str, object],
        context: object,
        *,
        is_new: bool,
    ) -> Word:
        """Answer a text in a running conversation or in a new one."""
        if not is_new:
            return Word(self._talk.answered(session, text, known, context))
        return Word(self._first(session, text, known, context))

    def ended(self, session: Session, text: str) -> bool:
        """Whether a session is over for this text: only paging and going back are left at an end.

        Nobody dials a text, so the next one begins anew by itself.
        """
        if not self._talk.at_its_end(session):
            return False
        return self._talk.command(session, text) not in ("more", "back", "stop")

    def confirmed(self, word: Word, *, first: bool) -> Word:
        """Say that a wish to stop or start is heeded; a repeated stop gets no second word."""
        view = word.view
        if view.command == "start":
            # Translators: reminders are on again; a menu follows.
            # budget: 100 septets or 50 units
            told = say("Reminders are on. Send STOP to end them.")
            return Word(with_line(view, told) if first else view)
        # Translators: a whole text message, after somebody sent STOP.
        # budget: 160 septets or 70 units
        told = say("No more reminders from us. Send START to get them again.")
        screen = Screen((told,) if first else ())
        return Word(replace(view, screen=screen), "confirmation")

    def reviewed(self, word: Word) -> Word:
        """Tell somebody who nearly said stop how to say it, unless their text made sense."""
        if not word.view.misread:
            return word
        # Translators: to somebody who seems to want no more messages; a question follows.
        # budget: 120 septets or 60 units
        told = say("A person will read your text. To end our reminders send STOP.")
        return replace(word, view=with_line(word.view, told))

    def _first(
        self, session: Session, text: str, known: Mapping[str, object], context: object
    ) -> View:
        begun = self._talk.afresh(session, known, context)
        command = self._talk.command(session, text)
        if command in ("stop", "start", "help"):
            return self._talk.answered(begun.session, text, known, context)
        if command is not None or not text.strip():
            return begun
        return (
            self._named(begun, text, known, context)
            or self._told(session, text, known, context)
            or begun
        )

    def _named(
        self, begun: View, text: str, known: Mapping[str, object], context: object
    ) -> View | None:
        """A line of the main menu, by its words: nobody has seen its numbers yet."""
        if not self._talk.at_main_menu(begun.session) or not any(map(str.isalpha, text)):
            return None
        view = self._talk.answered(begun.session, text, known, context)
        return None if view.misread else view

    def _told(
        self, session: Session, text: str, known: Mapping[str, object], context: object
    ) -> View | None:
        """Several answers at once to a conversation that did not even ask."""
        if self._answers_flow is None:
            return None
        view = self._talk.begun_with(session, self._answers_flow, text, known, context)
        noted = [code for code in view.session.notice if code.startswith("noted:")]
        sure = any(int(code.partition(":")[2]) >= _SURE for code in noted)
        return view if sure and not view.misread else None


def with_line(view: View, line: Phrase) -> View:
    """The same view with a line above it."""
    screen = replace(view.screen, lines=(line, *view.screen.lines))
    return replace(view, screen=screen)
