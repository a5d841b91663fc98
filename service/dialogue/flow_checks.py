"""What takes all flows, the registry and the navigation keys to check."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields

from service.dialogue.answers import Understood, menu_key, read_typed
from service.dialogue.machine import Place, entry
from service.dialogue.model import Flow, Navigation, Registry, State, Target
from service.dialogue.nodes import Problems, near
from service.dialogue.vocabulary import PlainVocabulary

Flows = Mapping[str, Flow]


def check_flows(
    flows: Flows, registry: Registry, navigation: Navigation, problems: Problems
) -> None:
    """Note every problem that is not a matter of one state alone."""
    for flow in flows.values():
        _check_start(flow, problems)
        for state in flow.states.values():
            _check_targets(flows, flow, state, problems)
            _check_names(flow, state, registry, problems)
            _check_navigation(flow, state, navigation, problems)
    _check_called(flows, problems)
    _check_reached(flows, problems)
    _check_rounds(flows, problems)


def _check_start(flow: Flow, problems: Problems) -> None:
    if flow.start and flow.start not in flow.states:
        message = f"unknown state {flow.start!r} in 'start'{near(flow.start, flow.states)}"
        problems.add(flow.file, flow.start_line, message)


def _check_targets(flows: Flows, flow: Flow, state: State, problems: Problems) -> None:
    for target in state.targets():
        other = flows.get(target.flow)
        if other is None:
            message = f"unknown flow {target.flow!r} in 'to'{near(target.flow, flows)}"
            problems.add(flow.file, target.line, message)
        elif target.state and target.state not in other.states:
            where = "" if other is flow else f" of flow {other.name!r}"
            hint = near(target.state, other.states)
            message = f"unknown state {target.state!r}{where} in 'to'{hint}"
            problems.add(flow.file, target.line, message)


def _check_names(flow: Flow, state: State, registry: Registry, problems: Problems) -> None:
    used = [
        ("guard", branch.guard, branch.line, registry.guards)
        for branch in state.when
        if branch.guard
    ]
    if state.show:
        used.append(("show", state.show, state.line_of("show"), registry.shows))  # type: ignore[arg-type]
    if state.options:
        used.append(("options", state.options, state.line_of("options"), registry.options))  # type: ignore[arg-type]
    used += [("also", name, state.line_of("also"), registry.also) for name in state.also.values()]  # type: ignore[misc]
    for kind, name, line, known in used:
        if name not in known:
            problems.add(flow.file, line, f"unknown {kind} {name!r}{near(name, known)}")


def _check_navigation(flow: Flow, state: State, navigation: Navigation, problems: Problems) -> None:
    for way in fields(navigation):
        key = getattr(navigation, way.name)
        for line in _answered_by(state, key):
            message = f"{key!r} is the key for {way.name!r} and also an answer here"
            problems.add(flow.file, line, message)


def _answered_by(state: State, key: str) -> Iterator[int]:
    """The lines of a state where a key would be taken as an answer."""
    number = menu_key(key)
    for choice in state.choices:
        if choice.key == number:
            yield choice.line
    if state.options and number not in (None, "0"):
        yield state.line_of("options")
    if state.kind == "next" and number == "1":
        yield state.line_of("to")
    if state.ask and isinstance(read_typed(state.ask, key, PlainVocabulary()), Understood):
        yield state.line_of("ask")


def _check_called(flows: Flows, problems: Problems) -> None:
    """One name must mean one answer, or nobody knows which is corrected."""
    stores: dict[str, str | None] = {}
    for flow in flows.values():
        for state in flow.states.values():
            if not state.called:
                continue
            name = " ".join(state.called.casefold().split())
            if stores.setdefault(name, state.store) != state.store:
                message = f"{state.called!r} is already the name of the answer {stores[name]!r}"
                problems.add(flow.file, state.line_of("called"), message)


def _known(flows: Flows, target: Target) -> Place | None:
    flow = flows.get(target.flow)
    if flow is None:
        return None
    place = entry(flows, target)
    return place if place.state in flow.states else None


def _next(flows: Flows, place: Place) -> list[Place]:
    targets = flows[place.flow].states[place.state].targets()
    return [known for target in targets if (known := _known(flows, target))]


def _reached(flows: Flows, starts: list[Place]) -> set[Place]:
    seen: set[Place] = set()
    waiting = list(starts)
    while waiting:
        place = waiting.pop()
        if place not in seen:
            seen.add(place)
            waiting.extend(_next(flows, place))
    return seen


def _check_reached(flows: Flows, problems: Problems) -> None:
    starts = [Place(flow.name, flow.start) for flow in flows.values() if flow.start in flow.states]
    seen = _reached(flows, starts)
    for flow in flows.values():
        if flow.start not in flow.states:
            continue  # told already; else every state of the flow would be told as well
        for state in flow.states.values():
            if Place(flow.name, state.name) not in seen:
                message = f"state {state.name!r} is never reached"
                problems.add(flow.file, state.line_of(""), message)


def _check_rounds(flows: Flows, problems: Problems) -> None:
    """Branching states change no answer, so once round them is for ever round them."""
    after = {
        Place(flow.name, state.name): [
            place
            for place in _next(flows, Place(flow.name, state.name))
            if flows[place.flow].states[place.state].kind == "branch"
        ]
        for flow in flows.values()
        for state in flow.states.values()
        if state.kind == "branch"
    }
    told: set[Place] = set()
    for place in after:
        way = _round(place, after)
        if way and not told & set(way):
            told.update(way)
            _tell_round(flows, way, problems)


def _round(start: Place, after: Mapping[Place, list[Place]]) -> list[Place]:
    """The shortest way from a branching state back to itself, if there is one."""
    ways = [[start]]
    seen: set[Place] = set()
    while ways:
        way = ways.pop(0)
        for place in after[way[-1]]:
            if place == start:
                return way
            if place not in seen:
                seen.add(place)
                ways.append([*way, place])
    return []


def _tell_round(flows: Flows, way: list[Place], problems: Problems) -> None:
    first = way[0]
    names = " -> ".join(f"{place.flow}/{place.state}" for place in [*way, first])
    flow = flows[first.flow]
    line = flow.states[first.state].line_of("")
    problems.add(flow.file, line, f"this branching never stops at a screen: {names}")
