"""The result screens of a conversation for given answers, as the caller will see them."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass

from service.advice import Context
from service.desk.fields import Answers
from service.desk.speech import Seen, Speech
from service.dialogue import Dialogue, Place
from service.dialogue.machine import entry
from service.phrases import Screen


@dataclass(frozen=True, slots=True)
class ResultScreen:
    """One result: where it stands, the screen, and its pages with what they cost."""

    flow: str
    state: str
    screen: Screen
    seen: Seen


def result_screens(
    dialogue: Dialogue, speech: Speech, flow: str, answers: Answers, language: str, context: Context
) -> tuple[ResultScreen, ...]:
    """Return what a conversation shows for these answers, in the order of its menus."""
    found = []
    for place in _shown_places(dialogue, flow, answers, context):
        standing = dialogue.place(language, place.flow, place.state, answers)
        screen = dialogue.show(standing, context)
        found.append(ResultScreen(place.flow, place.state, screen, speech.seen(screen, language)))
    return tuple(found)


def _shown_places(
    dialogue: Dialogue, flow: str, answers: Answers, context: Context
) -> Iterator[Place]:
    """Follow every way on within the flow, branches as these answers turn them."""
    book = dialogue.book
    waiting, seen = deque([Place(flow, book.flows[flow].start)]), set[Place]()
    while waiting:
        place = book.settle(waiting.popleft(), answers, context)
        if place.flow != flow or place in seen:
            continue
        seen.add(place)
        state = book.state(place)
        # A result under which something is asked is a question about it, not the advice.
        if state.show and not state.store:
            yield place
        waiting.extend(entry(book.flows, target) for target in state.targets())
