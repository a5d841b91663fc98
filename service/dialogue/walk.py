"""Every state and every exit of a book, for tests that must visit them all."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from service.dialogue.machine import FlowBook, Place, entry
from service.dialogue.model import State, Target


@dataclass(frozen=True, slots=True)
class Exit:
    """One way out of a state: `send` is an answer that takes it, `guard` what must be true.

    A menu made at run time has one exit, by "1" for its first line. The last branch of a
    branching state has neither.
    """

    to: Place
    send: str | None = None
    guard: str | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One state of one flow, with its exits in the order in which they are tried."""

    flow: str
    state: State
    exits: tuple[Exit, ...]

    @property
    def place(self) -> Place:
        """The flow and state."""
        return Place(self.flow, self.state.name)


def walk(book: FlowBook) -> Iterator[Step]:
    """Every state of every flow in the order of the files."""
    for flow in book.flows.values():
        for state in flow.states.values():
            yield Step(flow.name, state, tuple(_exits(book, state)))


def _exits(book: FlowBook, state: State) -> Iterator[Exit]:
    for choice in state.choices:
        yield Exit(_place(book, choice.to or state.to), send=choice.key)
    for branch in state.when:
        yield Exit(_place(book, branch.to), guard=branch.guard)
    if state.ask:
        yield Exit(_place(book, state.to), send=state.ask.example)
    if state.kind in ("options", "next"):
        yield Exit(_place(book, state.to), send="1")


def _place(book: FlowBook, target: Target | None) -> Place:
    if target is None:
        raise ValueError("a state without a way out cannot be in a book")
    return entry(book.flows, target)
