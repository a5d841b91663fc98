"""The screen of a conversation: what stands above the question, the question, its menu.

A screen is a pure function of the conversation and the context, so that a channel can show any
page of it again at any time. What stands above the question is kept as short codes in
`Conversation.notice`: `noted:2` (the last two answers), `kept:plan/tank` (the answer to that
question, corrected), `misread:too-small`, `changed`, `help`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import cast

from service.dialogue import sentences
from service.dialogue.answers import Reason
from service.dialogue.conversation import Conversation
from service.dialogue.machine import FlowBook, Place
from service.dialogue.model import Option, State
from service.dialogue.progress import menu, menu_keys
from service.phrases import Choice, Phrase, Screen

HELPLINE = "helpline"
"""The name of the registered show that offers the helpline."""

ENOUGH_MISREADS = 3
"""After so many answers in a row that were not taken, a person is offered."""


def screen_of(book: FlowBook, conversation: Conversation, context: object) -> Screen:
    """The screen of a conversation whose state exists."""
    state = book.state(conversation.place)
    options = menu(book, state, conversation.answers, context)
    keys = menu_keys(state, options)
    lines = [
        *_notices(book, conversation, context, keys),
        *_question(book, conversation, context),
    ]
    if state.options and not options:
        lines.append(sentences.nothing_to_choose(book.navigation))
    choices = tuple(Choice(key, option.label) for key, option in zip(keys, options, strict=True))
    return Screen(tuple(lines), choices, state.ends)


def _question(book: FlowBook, conversation: Conversation, context: object) -> Iterator[Phrase]:
    state = book.state(conversation.place)
    # After a misread answer a long result is not said again above the question that it has.
    misread = any(code.startswith("misread:") for code in conversation.notice)
    if state.show and not (misread and state.say):
        yield from book.registry.shows[state.show](conversation.answers, context)
    if state.say:
        yield Phrase(state.say)


def _notices(
    book: FlowBook, conversation: Conversation, context: object, keys: Sequence[str]
) -> Iterator[Phrase]:
    state = book.state(conversation.place)
    for notice in conversation.notice:
        code, _, detail = notice.partition(":")
        if code == "noted":
            yield from _noted(book, conversation, context, int(detail))
        elif code == "kept":
            yield from _kept(book, conversation, context, Place(*detail.split("/")))
        elif code == "misread":
            yield from _misread(book, conversation, context, cast("Reason", detail), keys)
        elif code == "changed":
            yield sentences.changed()
        elif code == "help":
            yield Phrase(state.help) if state.help else sentences.general_help(book.navigation)


def _noted(
    book: FlowBook, conversation: Conversation, context: object, count: int
) -> Iterator[Phrase]:
    said = []
    for place in conversation.history[-count:]:
        state = book.find(place)
        if state and state.store and state.store in conversation.answers:
            options: Sequence[Option] = menu(book, state, conversation.answers, context)
            said.append(sentences.kept(state, conversation.answers[state.store], options))
    if said:
        yield sentences.noted(said)


def _kept(
    book: FlowBook, conversation: Conversation, context: object, place: Place
) -> Iterator[Phrase]:
    state = book.find(place)
    if state and state.store and state.store in conversation.answers:
        options = menu(book, state, conversation.answers, context)
        yield sentences.noted([sentences.kept(state, conversation.answers[state.store], options)])


def _misread(
    book: FlowBook,
    conversation: Conversation,
    context: object,
    reason: Reason,
    keys: Sequence[str],
) -> Iterator[Phrase]:
    yield sentences.why(reason)
    state: State = book.state(conversation.place)
    if state.ask:
        yield sentences.what_to_send(state.ask)
    elif keys:
        yield sentences.which_to_send(keys[0])
    if conversation.misreads >= ENOUGH_MISREADS:
        offer = book.registry.shows.get(HELPLINE)
        yield from offer(conversation.answers, context) if offer else [sentences.offer_of_help()]
