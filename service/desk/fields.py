"""A conversation as one form: its questions in order, read from the flow file itself.

A question that is only asked after a result (its state shows something instead of saying a
sentence of its own) is left to walking screen by screen.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, TypeAlias

from service.advice import Context
from service.advice.answers import NOT_ON_THE_LIST
from service.advice.crops_told import WEEKS, planted_on
from service.dialogue import Ask, FlowBook, NotUnderstood, Option, Place, State, Vocabulary
from service.dialogue.answers import UNITS, Understood, plain_number, read_menu, read_typed
from service.dialogue.machine import entry
from service.dialogue.progress import Progress, menu, menu_keys
from service.dialogue.sentences import what_to_send, which_to_send, why
from service.phrases import Choice, Phrase, say

Answers: TypeAlias = Mapping[str, object]
DISTRICT = "district"


@dataclass(frozen=True, slots=True)
class Field:
    """One question of a form.

    `name` is the answer's name and the name of the input. `typed` is what stands in the input
    now: a number or words as they would be sent, or the key of a choice.
    """

    name: str
    question: Phrase
    kind: Literal["number", "text", "choice"]
    typed: str = ""
    choices: tuple[Choice, ...] = ()
    unit: str = ""
    low: float | None = None
    high: float | None = None
    example: str = ""
    help: Phrase | None = None


def questions(book: FlowBook, flow: str) -> Iterator[State]:
    """Yield the states of a flow that ask for an answer, in the order of its file.

    Of two that ask for the same answer the first counts; what no way leads to is left out.
    """
    reached, stored = _reached(book, flow), set[str]()
    for state in book.flows[flow].states.values():
        if state.name in reached and state.store and state.store not in stored and _asks(state):
            stored.add(state.store)
            yield state


def _reached(book: FlowBook, flow: str) -> set[str]:
    """Return the states that some way from the start leads to without leaving the flow."""
    start = book.flows[flow].start
    waiting, seen = deque([start]), {start}
    while waiting:
        for target in book.state(Place(flow, waiting.popleft())).targets():
            place = entry(book.flows, target)
            if place.flow == flow and place.state not in seen:
                seen.add(place.state)
                waiting.append(place.state)
    return seen


def _asks(state: State) -> bool:
    """Whether a state is a question: it says one, and is no menu of one line that leads on."""
    if not state.say or state.kind not in ("ask", "choices", "options"):
        return False
    return state.kind != "choices" or len(state.choices) > 1


def fields_of(book: FlowBook, flow: str, answers: Answers, context: Context) -> tuple[Field, ...]:
    """Return the form of a flow, filled with what is known; the district comes first."""
    found = [_district(answers, context)]
    for state in questions(book, flow):
        options = menu(book, state, answers, context)
        if state.ask or options:
            found.append(_field(state, options, answers, context))
    return tuple(found)


def _field(state: State, options: Sequence[Option], answers: Answers, context: Context) -> Field:
    name, question = str(state.store), Phrase(str(state.say))
    told = Phrase(state.help) if state.help else None
    value = _standing(name, answers, context)
    if state.ask is None:
        keys = menu_keys(state, options)
        choices = tuple(Choice(k, one.label) for k, one in zip(keys, options, strict=True))
        chosen = [k for k, one in zip(keys, options, strict=True) if _same(one.value, value)]
        return Field(name, question, "choice", chosen[0] if chosen else "", choices, help=told)
    ask = state.ask
    if ask.type == "text":
        typed = "" if value is None else str(value)
        return Field(name, question, "text", typed, example=ask.example, help=told)
    return Field(
        name,
        question,
        "number",
        _typed(ask, value),
        unit=ask.unit or "",
        low=float(ask.low),
        high=float(ask.high),
        example=ask.example,
        help=told,
    )


def _standing(name: str, answers: Answers, context: Context) -> object:
    """Return an answer as it stands today: weeks have gone on since they were told."""
    if name != WEEKS or not answers.get(name):
        return answers.get(name)
    planted = planted_on(answers, context.today)
    return None if planted is None else (context.today - planted).days // 7


def _typed(ask: Ask, value: object) -> str:
    """Return a kept number in the unit in which it is asked."""
    if value in (None, ""):
        return ""
    return str(plain_number(Decimal(str(value)) / _factor(ask)))


def _factor(ask: Ask) -> Decimal:
    return UNITS[ask.type].get(ask.unit, Decimal(1)) if ask.unit else Decimal(1)


def _same(one: object, other: object) -> bool:
    if isinstance(one, int | float) and isinstance(other, int | float):
        return float(one) == float(other)
    return type(one) is type(other) and one == other


def _districts(context: Context) -> tuple[Option, ...]:
    known = context.tables.districts.values()
    return (
        *(Option(one.key, say("{name}", name=one.name)) for one in known),
        Option(NOT_ON_THE_LIST, say("None of these")),
    )


def _district(answers: Answers, context: Context) -> Field:
    options = _districts(context)
    choices = tuple(Choice(str(one.value), one.label) for one in options)
    value = str(answers.get(DISTRICT) or "")
    typed = value if any(choice.key == value for choice in choices) else ""
    return Field(DISTRICT, say("District"), "choice", typed, choices)


# --- what was typed ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Read:
    """Answers after a form, and what to say at each field that was not understood."""

    before: Mapping[str, object]
    answers: Mapping[str, object]
    problems: Mapping[str, tuple[Phrase, ...]]


def read_form(
    book: FlowBook,
    flow: str,
    answers: Answers,
    typed: Mapping[str, str],
    words: Vocabulary,
    context: Context,
) -> Read:
    """Return answers with what was typed in a form; an emptied field takes its answer away.

    Fields are read in the order of the conversation, since what a menu offers may hang on the
    answers before it. A field that is not named keeps its answer.
    """
    kept, problems = dict(answers), dict[str, tuple[Phrase, ...]]()
    _read_district(kept, typed, problems, context)
    for state in questions(book, flow):
        name = str(state.store)
        if name not in typed:
            continue
        if not typed[name].strip():
            kept.pop(name, None)
            continue
        options = menu(book, state, kept, context)
        found = _read(state, typed[name], options, words)
        if isinstance(found, NotUnderstood):
            problems[name] = _why(state, found, options)
            continue
        place = Place(flow, state.name)
        progress = Progress(book, place, kept, (), "en", context)
        if not _same(_standing(name, kept, context), found.value):
            # Only a new answer is stamped with the day on which it was told.
            kept = dict(progress.keeping(state, found.value).answers)
    return Read(answers, kept, problems)


def _read(
    state: State, text: str, options: Sequence[Option], words: Vocabulary
) -> Understood | NotUnderstood:
    if state.ask:
        return read_typed(state.ask, text, words)
    return read_menu(text, menu_keys(state, options), options, words)


def _why(state: State, found: NotUnderstood, options: Sequence[Option]) -> tuple[Phrase, ...]:
    if state.ask:
        return (why(found.reason), what_to_send(state.ask))
    keys = menu_keys(state, options)
    return (why(found.reason), *((which_to_send(keys[0]),) if keys else ()))


def _read_district(
    kept: dict[str, object],
    typed: Mapping[str, str],
    problems: dict[str, tuple[Phrase, ...]],
    context: Context,
) -> None:
    said = typed.get(DISTRICT)
    if said is None:
        return
    if not said.strip():
        kept.pop(DISTRICT, None)
    elif any(said == one.value for one in _districts(context)):
        kept[DISTRICT] = said
    else:
        problems[DISTRICT] = (say("Choose a district of the list."),)
