"""Each flow as a `transitions` machine, built once and moved by light objects.

A machine has one event, "answer". Adding a model to it for every turn costs more than the rest
of the turn (it binds methods for every state and event), so a turn hands a `Cursor` straight to
the event instead.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from transitions.core import Event, Machine

from service.dialogue.model import Answers, Flow, Navigation, Registry, State, Target

ANSWER = "answer"


class Place(NamedTuple):
    """A state of a flow."""

    flow: str
    state: str


class Cursor:
    """What a machine moves: only its `state` changes."""

    __slots__ = ("answers", "chosen", "context", "state")

    def __init__(self, state: str, answers: Answers, context: object, chosen: int | None) -> None:
        self.state, self.answers, self.context, self.chosen = state, answers, context, chosen


@dataclass(frozen=True, slots=True)
class FlowMachine:
    """The event of a flow's machine, and which of its states stand for other flows."""

    event: Event
    exits: Mapping[str, Place]

    def move(self, cursor: Cursor, flow: str) -> Place:
        """Take the first exit that is open, and return where it leads."""
        self.event.trigger(cursor, cursor)
        return self.exits.get(cursor.state) or Place(flow, cursor.state)


@dataclass(frozen=True, slots=True)
class FlowBook:
    """All conversations that fit together, with the functions and keys they use."""

    flows: Mapping[str, Flow]
    registry: Registry
    navigation: Navigation
    machines: Mapping[str, FlowMachine]
    named: tuple[tuple[Place, State], ...] = ()
    """The questions whose answers can be corrected by name."""

    def find(self, place: Place) -> State | None:
        """The state at a place, if there is one."""
        flow = self.flows.get(place.flow)
        return flow.states.get(place.state) if flow else None

    def state(self, place: Place) -> State:
        """The state at a place that is known to exist."""
        return self.flows[place.flow].states[place.state]

    def settle(self, place: Place, answers: Answers, context: object) -> Place:
        """Go on through branching states until there is a screen to show."""
        state = self.state(place)
        # No bound is needed: a round of branching states is refused when the files are read.
        while state.kind == "branch":
            place = self._move(place, answers, context, None)
            state = self.state(place)
        return place

    def leads_to(self, target: Target, place: Place) -> bool:
        """Whether an exit leads straight to a place."""
        return target.flow in self.flows and entry(self.flows, target) == place

    def after(self, place: Place, answers: Answers, context: object, chosen: int | None) -> Place:
        """Where an answer given at a place leads."""
        return self.settle(self._move(place, answers, context, chosen), answers, context)

    def _move(self, place: Place, answers: Answers, context: object, chosen: int | None) -> Place:
        cursor = Cursor(place.state, answers, context, chosen)
        return self.machines[place.flow].move(cursor, place.flow)


def entry(flows: Mapping[str, Flow], target: Target) -> Place:
    """The place that a target names."""
    return Place(target.flow, target.state or flows[target.flow].start)


def build_book(flows: Mapping[str, Flow], registry: Registry, navigation: Navigation) -> FlowBook:
    """Build the machines of flows that passed every check."""
    machines = {name: _machine(flow, flows, registry) for name, flow in flows.items()}
    named = tuple(
        (Place(flow.name, state.name), state)
        for flow in flows.values()
        for state in flow.states.values()
        if state.called and state.store
    )
    return FlowBook(flows, registry, navigation, machines, named)


def _machine(flow: Flow, flows: Mapping[str, Flow], registry: Registry) -> FlowMachine:
    exits: dict[str, Place] = {}

    def destination(target: Target) -> str:
        place = entry(flows, target)
        if place.flow == flow.name:
            return place.state
        exits[f"{place.flow}/{place.state}"] = place
        return f"{place.flow}/{place.state}"

    moves = [
        {"trigger": ANSWER, "source": state.name, "dest": destination(to), "conditions": condition}
        for state in flow.states.values()
        for to, condition in _exits(state, registry)
    ]
    machine = Machine(
        model=None,
        states=[*flow.states, *exits],
        initial=flow.start,
        transitions=moves,
        auto_transitions=False,
    )
    # A flow of one last screen has no event at all; nothing ever triggers it.
    return FlowMachine(machine.events.get(ANSWER) or Event(ANSWER, machine), exits)


def _exits(state: State, registry: Registry) -> list[tuple[Target, list[Callable[..., bool]]]]:
    ways: list[tuple[Target, list[Callable[..., bool]]]] = []
    for place, choice in enumerate(state.choices):
        if choice.to:
            ways.append((choice.to, [_is_chosen(place)]))
    for branch in state.when:
        guard = [_holds(registry.guards[branch.guard])] if branch.guard else []
        ways.append((branch.to, guard))
    if state.to:
        ways.append((state.to, []))
    return ways


def _is_chosen(place: int) -> Callable[[Cursor], bool]:
    return lambda cursor: cursor.chosen == place


def _holds(guard: Callable[[Answers, Any], bool]) -> Callable[[Cursor], bool]:
    # transitions compares the result with True, which a merely truthy value would not equal.
    return lambda cursor: bool(guard(cursor.answers, cursor.context))
