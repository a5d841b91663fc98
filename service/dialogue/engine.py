"""One turn of a conversation: a text comes in, the next conversation and its screen go out."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from service.dialogue.answers import NotUnderstood, Understood, read_menu, read_typed
from service.dialogue.conversation import Conversation, with_page
from service.dialogue.corrections import correct
from service.dialogue.machine import FlowBook, Place
from service.dialogue.progress import Progress, longer, menu
from service.dialogue.screens import screen_of
from service.dialogue.several import Filled, Part, fill, may_be_one_number, split_parts
from service.dialogue.vocabulary import Command, Vocabulary
from service.phrases import Screen

JOINERS = ("x", "×", "by")
"""Words that tie two sides together, as in "20 by 30"; a deployment adds its languages' own."""

LONGEST = 600
"""Four text messages [characters]: a longer text is not looked through for several answers."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a turn leaves: the conversation to keep, the screen to show.

    `command` is "stop" or "start" when the channel is to act upon it; nothing else changed then.
    """

    conversation: Conversation
    screen: Screen
    command: Literal["stop", "start"] | None = None


class Dialogue:
    """The conversations of a book, held with any number of callers.

    It keeps nothing between turns, and the same conversation, text and context give the same
    outcome.
    """

    def __init__(
        self,
        book: FlowBook,
        main: tuple[str, str] = ("start", "menu"),
        joiners: Iterable[str] = JOINERS,
    ) -> None:
        """Raise ValueError when the main menu is not in the book."""
        self.book, self.main = book, Place(*main)
        self._joiners = frozenset(word.casefold() for word in joiners)
        if book.find(self.main) is None:
            raise ValueError(f"the main menu {self.main} is in no flow file")
        keys = book.navigation
        self._keys: Mapping[str, Command] = {
            keys.back: "back", keys.main: "main", keys.more: "more", keys.help: "help"
        }  # fmt: skip

    def begin(
        self,
        language: str,
        flow: str = "start",
        context: object = None,
        answers: Mapping[str, object] | None = None,
    ) -> Outcome:
        """Begin a flow from its first question, with whatever is known already."""
        start = Place(flow, self.book.flows[flow].start)
        return self._outcome(self._enter(language, start, answers or {}, (), context), context)

    def place(
        self,
        language: str,
        flow: str,
        state: str,
        answers: Mapping[str, object] | None = None,
    ) -> Conversation:
        """A conversation standing at a given state; for tests and for handing over."""
        version = self.book.flows[flow].version
        return Conversation(flow, version, state, answers=answers or {}, language=language)

    def show(self, conversation: Conversation, context: object = None) -> Screen:
        """The screen of a conversation, again."""
        return screen_of(self.book, self._current(conversation, context), context)

    def resume(self, conversation: Conversation, context: object = None) -> Outcome:
        """Take up a conversation after a pause, in today's version of its question."""
        return self._outcome(self._current(conversation, context), context)

    def answer(
        self,
        conversation: Conversation,
        text: str,
        vocabulary: Vocabulary,
        context: object = None,
    ) -> Outcome:
        """Take one text from the caller: a command first, else an answer."""
        current = self._current(conversation, context)
        command = self._command(text, vocabulary, current, context)
        if command == "stop" or command == "start":
            return Outcome(current, screen_of(self.book, current, context), command)
        if current is not conversation and command in (None, "more"):
            # The caller has not seen this question yet, so the text cannot be an answer to it.
            return self._outcome(current, context)
        if command is not None:
            return self._outcome(self._obey(command, current, context), context)
        return self._outcome(self._answered(current, text, vocabulary, context), context)

    def _outcome(self, conversation: Conversation, context: object) -> Outcome:
        return Outcome(conversation, screen_of(self.book, conversation, context))

    def _command(
        self, text: str, vocabulary: Vocabulary, current: Conversation, context: object
    ) -> Command | None:
        # NFKC folds the wide forms of * and # that some phones send.
        key = unicodedata.normalize("NFKC", text).strip()
        if key in self._keys:
            return self._keys[key]
        meant = vocabulary.command(text)
        if meant in (None, "stop", "start"):
            return meant
        # A line of the menu on the screen may be called "Help" or "More": then it is an answer.
        state = self.book.state(current.place)
        return vocabulary.command(text, menu(self.book, state, current.answers, context))

    def _current(self, conversation: Conversation, context: object) -> Conversation:
        """The conversation itself, or where it goes when its question is no longer the same."""
        flow = self.book.flows.get(conversation.flow)
        if flow is None:
            place = self.main
        elif conversation.state not in flow.states:
            place = Place(flow.name, flow.start)
        elif (
            conversation.flow_version != flow.version
            or flow.states[conversation.state].kind == "branch"
        ):
            place = conversation.place
        else:
            return conversation
        moved = self._enter(
            conversation.language, place, conversation.answers, conversation.history, context
        )
        return replace(moved, notice=("changed",))

    def _enter(
        self,
        language: str,
        place: Place,
        answers: Mapping[str, object],
        history: tuple[Place, ...],
        context: object,
    ) -> Conversation:
        settled = self.book.settle(place, answers, context)
        progress = Progress(self.book, settled, answers, history, language, context)
        return progress.conversation()

    def _obey(self, command: Command, current: Conversation, context: object) -> Conversation:
        if command == "more":
            return with_page(current, current.page + 1)
        if command == "help":
            return replace(current, page=0, notice=("help",))
        if command == "main":
            return self._to_main(current, context)
        return self._back(current, context)

    def _to_main(self, current: Conversation, context: object) -> Conversation:
        moved = self._enter(current.language, self.main, current.answers, (), context)
        if moved.place == current.place:
            return replace(moved, history=current.history)
        return replace(moved, history=longer(current.history, current.place))

    def _back(self, current: Conversation, context: object) -> Conversation:
        if current.page > 0:
            # From a later page of a long screen, back is one page back, not the answer undone.
            return with_page(current, current.page - 1)
        history = current.history
        while history:
            history, place = history[:-1], history[-1]
            state = self.book.find(place)
            if state and state.kind != "branch":
                return self._enter(current.language, place, current.answers, history, context)
        return self._enter(current.language, current.place, current.answers, (), context)

    def _answered(
        self, current: Conversation, text: str, vocabulary: Vocabulary, context: object
    ) -> Conversation:
        progress = Progress.of(self.book, current, context)
        if progress.state.ends:
            return self._enter(current.language, self.main, current.answers, (), context)
        parts = self._parts(progress, text, vocabulary)
        filled = fill(progress, parts, vocabulary) if len(parts) > 1 else None
        if not filled or filled.count < 2:
            correction = correct(progress, text, vocabulary)
            if correction is not None:
                kept = "/".join(correction.question)
                return correction.progress.conversation(notice=(f"kept:{kept}",))
        if filled and filled.count > 1 and not filled.rest:
            if may_be_one_number(progress, parts, vocabulary):
                return _misread(current, NotUnderstood("ambiguous-number"))
            return filled.progress.conversation(notice=(f"noted:{filled.count}",))
        whole = _read_whole(progress, text, vocabulary)
        if isinstance(whole, Understood):
            notice = ("noted:1",) if whole.converted else ()
            return progress.after(whole).conversation(notice=notice)
        if filled and filled.count > 1:
            return _partly(filled)
        return _misread(current, whole)

    def _parts(self, progress: Progress, text: str, vocabulary: Vocabulary) -> tuple[Part, ...]:
        ask = progress.state.ask
        if len(text) > LONGEST or (ask and ask.type == "text"):
            return ()
        return split_parts(text, vocabulary, self._joiners)


def _read_whole(
    progress: Progress, text: str, vocabulary: Vocabulary
) -> Understood | NotUnderstood:
    if progress.state.ask:
        return read_typed(progress.state.ask, text, vocabulary)
    options = progress.options()
    return read_menu(text, progress.keys(options), options, vocabulary)


def _partly(filled: Filled) -> Conversation:
    noted = f"noted:{filled.count}"
    if filled.failed is None:
        return filled.progress.conversation(notice=(noted,))
    return filled.progress.conversation(1, (noted, f"misread:{filled.failed.reason}"))


def _misread(current: Conversation, why: NotUnderstood) -> Conversation:
    return replace(
        current, page=0, misreads=current.misreads + 1, notice=(f"misread:{why.reason}",)
    )
