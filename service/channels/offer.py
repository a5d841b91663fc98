"""The question put to a caller who left a conversation unfinished: go on, or start again."""

from __future__ import annotations

from typing import Literal

from service.dialogue import (
    Conversation,
    Dialogue,
    Flow,
    FlowBook,
    Option,
    Outcome,
    State,
    Target,
    Vocabulary,
)
from service.dialogue.machine import build_book
from service.dialogue.model import Line
from service.phrases import N_, say
from service.records import Session

FLOW = "offer"
_VERSION = "1"
_ASKED, _CHOSEN = "offer", "chosen"

Chosen = Literal["go-on", "again"]


def _flow() -> Flow:
    chosen = Target(FLOW, _CHOSEN)
    go_on: Chosen = "go-on"
    again: Chosen = "again"
    asked = State(
        name=_ASKED,
        kind="choices",
        # Translators: to a caller whose last call broke off; two choices follow.
        # budget: 60 septets or 26 units
        say=N_("You stopped before the end."),
        choices=(
            # Translators: a choice: take the earlier conversation up again.
            # budget: 40 septets or 22 units
            Line("1", Option(go_on, say("Go on where you stopped")), chosen),
            # Translators: a choice: forget the earlier answers. budget: 40 septets or 16 units
            Line("2", Option(again, say("Start again")), chosen),
        ),
        store=FLOW,
    )
    end = State(name=_CHOSEN, kind="end", say="")
    return Flow(FLOW, __name__, _VERSION, _ASKED, {_ASKED: asked, _CHOSEN: end})


class Offer:
    """A conversation of one question, held by the same engine as all others.

    It borrows the keys and the helpline of the book, so that help, paging and misread answers
    are the same here as anywhere. Of the session it uses page, misreads and notice, which mean
    nothing to the conversation that waits behind the offer.
    """

    def __init__(self, book: FlowBook) -> None:
        own = build_book({FLOW: _flow()}, book.registry, book.navigation)
        self._dialogue = Dialogue(own, main=(FLOW, _ASKED))

    def ask(self, language: str, context: object) -> Outcome:
        """Put the question."""
        return self._dialogue.begin(language, FLOW, context)

    def answer(
        self, session: Session, text: str, vocabulary: Vocabulary, context: object
    ) -> Outcome:
        """Take an answer to the question, or a command."""
        return self._dialogue.answer(self._conversation(session), text, vocabulary, context)

    def _conversation(self, session: Session) -> Conversation:
        return Conversation(
            FLOW,
            _VERSION,
            _ASKED,
            language=session.language,
            page=session.page,
            misreads=session.misreads,
            notice=session.notice,
        )


def chosen(outcome: Outcome) -> Chosen | None:
    """What was chosen, if anything: the caller may also have asked for help or misspelt."""
    value = outcome.conversation.answers.get(FLOW)
    if outcome.command == "start" or value == "again":
        return "again"
    return "go-on" if value == "go-on" else None
