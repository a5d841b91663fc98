"""One flow file read into a `Flow`: its shape, state by state.

What can be said of a state alone is checked here; what takes the other states, the other files
or the registry is checked in `flow_checks`. A part that cannot be read is left out and told,
so that one look at the errors is enough.
"""

from __future__ import annotations

import re
from hashlib import sha256

from yaml.nodes import Node, ScalarNode

from service.dialogue.ask_file import read_ask
from service.dialogue.model import Branch, Flow, Kind, Line, Option, State, Target
from service.dialogue.nodes import Problems, Sheet, line_of
from service.phrases import say

FLOW_KEYS = ("flow", "start", "states", "note")
STATE_KEYS = (
    "say", "show", "ask", "choices", "options", "when", "store", "also", "to", "ends", "help",
    "called", "note"
)  # fmt: skip
CHOICE_KEYS = ("key", "say", "value", "to", "note")
BRANCH_KEYS = ("guard", "to", "note")
QUESTIONS = ("ask", "choices", "options", "when")

_NAME = re.compile(r"[a-z][a-z0-9_]*")
_TARGET = re.compile(r"(?:flow:(?P<flow>[a-z][a-z0-9_]*)(?:/|\Z))?(?P<state>[a-z][a-z0-9_]*)?")
_NUMBER = re.compile(r"-?(?:0|[1-9]\d*)(?:\.\d+)?")

Fields = dict[str, tuple[int, Node]]


def version_of(text: str) -> str:
    """The version of a flow file: the first twelve hex digits of its SHA-256."""
    return sha256(text.encode()).hexdigest()[:12]


def read_flow(file: str, text: str, problems: Problems) -> Flow | None:
    """Read one flow file; None when nothing of it can be used."""
    sheet = Sheet(file, problems)
    root = sheet.compose(text)
    if root is None:
        return None
    fields = sheet.record(root, FLOW_KEYS, "a flow file")
    missing = [key for key in ("flow", "start", "states") if key not in fields]
    for key in missing:
        sheet.wrong(1, f"a flow file needs {key!r}")
    if "flow" not in fields or "states" not in fields:
        return None
    name = _name(sheet, fields["flow"][1], "the flow's name")
    if name is None:
        return None
    states = _states(sheet, fields["states"][1], name)
    start = _name(sheet, fields["start"][1], "'start'") if "start" in fields else None
    lines = {key: line for key, (line, _) in fields.items()}
    return Flow(
        name, file, version_of(text), start or "", states, lines["flow"], lines.get("start", 1)
    )


def _name(sheet: Sheet, node: Node, what: str) -> str | None:
    name = sheet.text(node, what)
    if name is not None and not _NAME.fullmatch(name):
        sheet.wrong(node, f"{what} {name!r} must be small letters, digits and _ only")
        return None
    return name


def _states(sheet: Sheet, node: Node, flow: str) -> dict[str, State]:
    states = {}
    for name, (line, body) in sheet.mapping(node, "'states'").items():
        if not _NAME.fullmatch(name):
            sheet.wrong(line, f"the state's name {name!r} must be small letters, digits and _ only")
        states[name] = _state(sheet, flow, name, line, body)
    return states


def _state(sheet: Sheet, flow: str, name: str, line: int, body: Node) -> State:
    fields = sheet.record(body, STATE_KEYS, f"state {name!r}")
    lines = {"": line, **{key: at for key, (at, _) in fields.items()}}
    words = {
        key: sheet.text(fields[key][1], f"{key!r} of state {name!r}")
        for key in ("say", "show", "options", "help", "called", "note")
        if key in fields
    }
    for key in ("say", "help", "called"):
        _constant(sheet, words.get(key), lines.get(key, line))
    store = _name(sheet, fields["store"][1], "'store'") if "store" in fields else None
    state = State(
        name=name,
        kind=_kind(fields),
        say=words.get("say"),
        show=words.get("show"),
        ask=read_ask(sheet, fields["ask"][1], name) if "ask" in fields else None,
        choices=_choices(sheet, fields["choices"][1], flow, name) if "choices" in fields else (),
        options=words.get("options"),
        when=_branches(sheet, fields["when"][1], flow, name) if "when" in fields else (),
        store=store,
        also=_also(sheet, fields["also"][1], name) if "also" in fields else {},
        to=_target(sheet, fields["to"], flow) if "to" in fields else None,
        help=words.get("help"),
        called=words.get("called"),
        note=words.get("note"),
        lines=lines,
    )
    _check_shape(sheet, state, fields)
    return state


def _kind(fields: Fields) -> Kind:
    if "when" in fields:
        return "branch"
    if "ask" in fields:
        return "ask"
    if "choices" in fields:
        return "choices"
    if "options" in fields:
        return "options"
    return "next" if "to" in fields else "end"


def _constant(sheet: Sheet, text: str | None, line: int) -> None:
    if text is not None and ("{" in text or "}" in text):
        sheet.wrong(line, "a sentence here is constant; text with values comes from a 'show'")


def _target(sheet: Sheet, at: tuple[int, Node], flow: str) -> Target | None:
    line, node = at
    text = sheet.text(node, "'to'")
    if text is None:
        return None
    parts = _TARGET.fullmatch(text)
    if parts is None:
        sheet.wrong(line, f"'to' must be state, flow:name or flow:name/state, not {text!r}")
        return None
    return Target(parts["flow"] or flow, parts["state"], line)


def _choices(sheet: Sheet, node: Node, flow: str, state: str) -> tuple[Line, ...]:
    found: list[Line] = []
    for item in sheet.items(node, f"'choices' of state {state!r}"):
        line = _choice(sheet, item, flow, state)
        if line is None:
            continue
        if line.key in {other.key for other in found}:
            sheet.wrong(item, f"key {line.key!r} stands twice in the choices of state {state!r}")
        else:
            found.append(line)
    return tuple(found)


def _choice(sheet: Sheet, node: Node, flow: str, state: str) -> Line | None:
    fields = sheet.record(node, CHOICE_KEYS, f"a choice of state {state!r}")
    key = sheet.text(fields["key"][1], "'key'") if "key" in fields else None
    label = sheet.text(fields["say"][1], "'say'") if "say" in fields else None
    for name in ("key", "say"):
        if name not in fields:
            sheet.wrong(node, f"a choice of state {state!r} needs {name!r}")
    if key is not None and not re.fullmatch(r"0|[1-9][0-9]?", key):
        sheet.wrong(fields["key"][0], f"a choice's key must be a number from 0 to 99, not {key!r}")
        key = None
    if key is None or label is None:
        return None
    _constant(sheet, label, fields["say"][0])
    value = _value(sheet, fields["value"][1]) if "value" in fields else None
    to = _target(sheet, fields["to"], flow) if "to" in fields else None
    return Line(key, Option(value, say(label)), to, line_of(node))


def _value(sheet: Sheet, node: Node) -> object:
    """A plain number is kept as a number; anything else, or in quotes, as text."""
    text = sheet.text(node, "'value'")
    if text is None or not isinstance(node, ScalarNode) or node.style is not None:
        return text
    if not _NUMBER.fullmatch(text):
        return text
    return float(text) if "." in text else int(text)


def _also(sheet: Sheet, node: Node, state: str) -> dict[str, str]:
    """The names under which more is kept, each with the function that reckons it."""
    what = f"'also' of state {state!r}"
    found = {}
    for name, (line, value) in sheet.mapping(node, what).items():
        if not _NAME.fullmatch(name):
            sheet.wrong(
                line, f"the name {name!r} in {what} must be small letters, digits and _ only"
            )
        function = sheet.text(value, f"{name!r} in {what}")
        if function is not None:
            found[name] = function
    return found


def _branches(sheet: Sheet, node: Node, flow: str, state: str) -> tuple[Branch, ...]:
    found = []
    for item in sheet.items(node, f"'when' of state {state!r}"):
        fields = sheet.record(item, BRANCH_KEYS, f"a branch of state {state!r}")
        guard = sheet.text(fields["guard"][1], "'guard'") if "guard" in fields else None
        if "to" not in fields:
            sheet.wrong(item, f"a branch of state {state!r} needs 'to'")
        elif to := _target(sheet, fields["to"], flow):
            found.append(Branch(guard, to, line_of(item)))
    return tuple(found)


def _check_shape(sheet: Sheet, state: State, fields: Fields) -> None:
    asked = [key for key in QUESTIONS if key in fields]
    name = f"state {state.name!r}"
    if len(asked) > 1:
        line = max(state.lines[key] for key in asked)
        sheet.wrong(line, f"{name} has {' and '.join(asked)}; it can have only one of them")
        return
    if state.kind == "branch":
        _check_branch(sheet, state, fields)
    else:
        _check_screen(sheet, state, fields)
    _check_ends(sheet, state, fields)
    _check_store(sheet, state)


def _check_branch(sheet: Sheet, state: State, fields: Fields) -> None:
    for key in ("say", "show", "store", "also", "to", "help", "called"):
        if key in fields:
            sheet.wrong(
                state.lines[key], f"{key!r} is of no use in state {state.name!r}, which branches"
            )
    if not state.when:
        return
    if state.when[-1].guard is not None:
        sheet.wrong(
            state.when[-1].line, f"the last branch of state {state.name!r} must have no guard"
        )
    for branch in state.when[:-1]:
        if branch.guard is None:
            sheet.wrong(branch.line, "only the last branch may be without a guard")


def _check_screen(sheet: Sheet, state: State, fields: Fields) -> None:
    if "say" not in fields and "show" not in fields:
        sheet.wrong(state.line_of(""), f"state {state.name!r} has no text: add 'say' or 'show'")
    if state.kind in ("ask", "options") and "to" not in fields:
        sheet.wrong(state.line_of(""), f"state {state.name!r} leads nowhere: add 'to'")
    if state.kind == "choices" and "to" not in fields:
        for choice in state.choices:
            if choice.to is None:
                message = f"choice {choice.key!r} of state {state.name!r} leads nowhere: add 'to'"
                sheet.wrong(choice.line, message)
    if state.choices and "to" in fields and all(choice.to for choice in state.choices):
        sheet.wrong(state.lines["to"], "this 'to' is never used: every choice has its own")


def _check_ends(sheet: Sheet, state: State, fields: Fields) -> None:
    if "ends" in fields:
        line, node = fields["ends"]
        if not isinstance(node, ScalarNode) or node.value != "true":
            sheet.wrong(line, "'ends' can only be true; leave it out otherwise")
        elif state.kind != "end":
            sheet.wrong(line, f"state {state.name!r} ends and yet goes on; leave one out")
    elif state.kind == "end":
        sheet.wrong(
            state.line_of(""),
            f"state {state.name!r} has no way out: add a question, 'to' or 'ends: true'",
        )


def _check_store(sheet: Sheet, state: State) -> None:
    name = f"state {state.name!r}"
    if state.kind in ("ask", "options") and "store" not in state.lines:
        sheet.wrong(state.line_of(""), f"{name} asks and does not keep the answer: add 'store'")
    if state.kind in ("next", "end") and "store" in state.lines:
        sheet.wrong(state.lines["store"], f"{name} asks nothing that could be stored")
    if "also" in state.lines and "store" not in state.lines:
        sheet.wrong(state.lines["also"], f"{name} keeps no answer beside which to keep more")
    if "called" in state.lines and "store" not in state.lines:
        sheet.wrong(state.lines["called"], f"{name} keeps no answer that could be corrected")
    for choice in state.choices:
        if "store" in state.lines and choice.value is None:
            sheet.wrong(choice.line, f"choice {choice.key!r} of {name} needs a 'value' to store")
        if "store" not in state.lines and choice.value is not None:
            sheet.wrong(choice.line, f"the value of choice {choice.key!r} is lost: add 'store'")
