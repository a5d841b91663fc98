"""A word that names a question answered before, and a new answer to it: "tank 1000".

Only names given by the flow files count, only questions that have been answered, and only when
the rest of the text is an answer to that question. The question now open stays open.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from service.dialogue.answers import NotUnderstood, Understood, read_name, read_typed
from service.dialogue.machine import Place
from service.dialogue.model import State
from service.dialogue.progress import Progress, menu
from service.dialogue.vocabulary import Vocabulary
from service.phrases import Phrase

MOST_WORDS = 3
"""How many words the name of a question may have."""


@dataclass(frozen=True, slots=True)
class _Question:
    """A question that was answered; named like the line of a menu, so that a slip is forgiven."""

    place: Place
    state: State
    label: Phrase
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Correction:
    """Where the conversation stands with the new answer, and which question it was for."""

    progress: Progress
    question: Place


def correct(progress: Progress, text: str, vocabulary: Vocabulary) -> Correction | None:
    """Take a text as a correction; None when it is none."""
    if progress.state.ask and progress.state.ask.type == "text":
        return None
    words = text.split()
    # Most answers are one word or begin with a number, and cost nothing here.
    if len(words) < 2 or _counts(words[0]):
        return None
    asked = tuple(_answered(progress))
    for count in range(min(MOST_WORDS, len(words) - 1), 0, -1):
        name, rest = " ".join(words[:count]), " ".join(words[count:])
        place = None if _counts(name) else vocabulary.choose(name.rstrip(":="), asked)
        if place is None:
            continue
        read = _read(progress, asked[place].state, rest.lstrip(":= "), vocabulary)
        if isinstance(read, Understood):
            return _corrected(progress, asked[place], read.value)
    return None


def _counts(words: str) -> bool:
    return any(letter.isdecimal() for letter in words)


def _answered(progress: Progress) -> Iterator[_Question]:
    """Each answered question that has a name, those of the conversation now held first."""
    own = progress.place.flow
    stored: set[str] = set()
    for place, state in sorted(progress.book.named, key=lambda one: one[0].flow != own):
        store = str(state.store)
        if place == progress.place or store not in progress.answers or store in stored:
            continue
        stored.add(store)
        yield _Question(place, state, Phrase(str(state.called)))


def _read(
    progress: Progress, state: State, text: str, vocabulary: Vocabulary
) -> Understood | NotUnderstood:
    if state.ask:
        return read_typed(state.ask, text, vocabulary)
    # By words only: nobody looks at the numbers of that menu now.
    options = menu(progress.book, state, progress.answers, progress.context)
    return read_name(text, options, vocabulary)


def _corrected(progress: Progress, question: _Question, value: object) -> Correction:
    moved = progress.keeping(question.state, value)
    return Correction(replace(moved, place=_chosen_anew(moved)), question.place)


def _chosen_anew(progress: Progress) -> Place:
    """A result that a branch chose is chosen again, for the new answer may lead to another."""
    if not progress.state.show:
        return progress.place
    flow = progress.book.flows[progress.place.flow]
    for state in flow.states.values():
        if any(progress.book.leads_to(branch.to, progress.place) for branch in state.when):
            start = Place(flow.name, state.name)
            return progress.book.settle(start, progress.answers, progress.context)
    return progress.place
