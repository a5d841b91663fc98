"""A conversation on the move: what one answer, or several at once, do to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.dialogue.answers import Understood
from service.dialogue.conversation import Conversation
from service.dialogue.machine import FlowBook, Place
from service.dialogue.model import Answers, Option, State
from service.dialogue.sentences import go_on

HISTORY = 40
"""How many questions can be gone back through; far more than any conversation asks."""

LANGUAGE = "language"
"""An answer kept under this name is also the language spoken from then on."""


@dataclass(frozen=True, slots=True)
class Progress:
    """A place in the book with all that decides how it goes on."""

    book: FlowBook
    place: Place
    answers: Answers
    history: tuple[Place, ...]
    language: str
    context: object

    @classmethod
    def of(cls, book: FlowBook, conversation: Conversation, context: object) -> Progress:
        """Where a stored conversation stands."""
        return cls(
            book,
            conversation.place,
            conversation.answers,
            conversation.history,
            conversation.language,
            context,
        )

    @property
    def state(self) -> State:
        """The state now open."""
        return self.book.state(self.place)

    def options(self) -> Sequence[Option]:
        """The lines of the menu now open, however it is made; none when nothing is chosen."""
        return menu(self.book, self.state, self.answers, self.context)

    def keys(self, options: Sequence[Option]) -> list[str]:
        """The number of each line of the menu now open."""
        return menu_keys(self.state, options)

    def after(self, understood: Understood) -> Progress:
        """Keep an answer and go on to the next screen."""
        kept = self.keeping(self.state, understood.value)
        place = self.book.after(self.place, kept.answers, self.context, understood.chosen)
        return replace(kept, place=place, history=longer(self.history, self.place))

    def keeping(self, state: State, value: object) -> Progress:
        """The same place with a value kept as the answer of a state, and what goes with it."""
        if not state.store:
            return self
        answers = {**self.answers, state.store: value}
        for name, function in state.also.items():
            answers[name] = self.book.registry.also[function](answers, self.context)
        language = str(value) if state.store == LANGUAGE else self.language
        return replace(self, answers=answers, language=language)

    def conversation(self, misreads: int = 0, notice: tuple[str, ...] = ()) -> Conversation:
        """The conversation to keep."""
        return Conversation(
            flow=self.place.flow,
            flow_version=self.book.flows[self.place.flow].version,
            state=self.place.state,
            history=self.history,
            answers=self.answers,
            language=self.language,
            misreads=misreads,
            notice=notice,
        )


def menu(book: FlowBook, state: State, answers: Answers, context: object) -> Sequence[Option]:
    """The lines of a state's menu."""
    if state.options:
        return book.registry.options[state.options](answers, context)
    if state.kind == "next":
        return (Option(None, go_on()),)
    return [choice.option for choice in state.choices]


def menu_keys(state: State, options: Sequence[Option]) -> list[str]:
    """The number to send for each line of a state's menu."""
    if state.choices:
        return [choice.key for choice in state.choices]
    return [str(number) for number in range(1, len(options) + 1)]


def longer(history: tuple[Place, ...], place: Place) -> tuple[Place, ...]:
    """The history with one more question, the oldest forgotten when it is full."""
    return (*history, place)[-HISTORY:]
