"""The walk meets every state and every exit, and each exit leads where it says."""

from __future__ import annotations

from service.dialogue import Dialogue, Exit, FlowBook, Place, PlainVocabulary, Step, walk


def step_at(book: FlowBook, flow: str, state: str) -> Step:
    (found,) = [step for step in walk(book) if step.place == Place(flow, state)]
    return found


def test_every_state_is_met_once(book: FlowBook) -> None:
    met = [step.place for step in walk(book)]
    assert len(met) == len(set(met)) == sum(len(flow.states) for flow in book.flows.values())


def test_exits_are_told_with_what_takes_them(book: FlowBook) -> None:
    assert step_at(book, "start", "menu").exits == (
        Exit(Place("bakery", "length"), send="1"),
        Exit(Place("reading", "title"), send="2"),
        Exit(Place("start", "goodbye"), send="0"),
    )
    assert step_at(book, "bakery", "large").exits == (
        Exit(Place("bakery", "helped"), guard="large_oven"),
        Exit(Place("bakery", "plan")),
    )
    assert step_at(book, "bakery", "dough").exits == (Exit(Place("bakery", "helper"), send="500"),)
    assert step_at(book, "reading", "title").exits == (Exit(Place("reading", "weeks"), send="1"),)
    assert step_at(book, "reading", "lent").exits == (Exit(Place("start", "menu"), send="1"),)
    assert step_at(book, "bakery", "done").exits == ()


def test_what_is_sent_takes_the_exit(dialogue: Dialogue, book: FlowBook) -> None:
    answers = {"weeks": 1}
    for step in walk(book):
        for way in step.exits:
            if way.send is None:
                continue
            here = dialogue.place("en", step.flow, step.state.name, answers)
            there = dialogue.answer(here, way.send, PlainVocabulary()).conversation
            assert there.place == book.settle(way.to, there.answers, None), (step.place, way)
