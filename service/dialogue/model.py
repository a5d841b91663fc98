"""What a flow file means once it has been read: flows, their states and what a state asks."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Literal, TypeAlias

from service.dialogue.vocabulary import Unit
from service.phrases import Phrase

Answers: TypeAlias = Mapping[str, object]
"""What has been answered so far: the `store` name of a state to a JSON value."""

Show: TypeAlias = Sequence[Phrase]
"""The sentences of a result."""

AskType: TypeAlias = Literal[
    "length", "height", "volume", "weeks", "number", "percent", "flow", "text"
]

Kind: TypeAlias = Literal["ask", "choices", "options", "next", "branch", "end"]
"""What a state wants: a typed answer, a fixed menu, a menu made at run time, only to be
gone on from, nothing (a branch is never seen), or nothing any more."""


@dataclass(frozen=True, slots=True)
class Option:
    """One possible answer of a menu: the value kept, the label seen, other names for it."""

    value: object
    label: Phrase
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Registry:
    """The functions that flow files call by name; each gets the answers and the context."""

    guards: Mapping[str, Callable[[Answers, Any], bool]] = field(default_factory=dict)
    shows: Mapping[str, Callable[[Answers, Any], Show]] = field(default_factory=dict)
    options: Mapping[str, Callable[[Answers, Any], Sequence[Option]]] = field(default_factory=dict)
    also: Mapping[str, Callable[[Answers, Any], object]] = field(default_factory=dict)
    """What is kept beside an answer, reckoned from all answers with that one among them."""


@dataclass(frozen=True, slots=True)
class Navigation:
    """What to send to go back, to the main menu, to the next page, or for help."""

    back: str = "*"
    main: str = "**"
    more: str = "#"
    help: str = "##"

    def __post_init__(self) -> None:
        """Raise ValueError when two of the keys are equal, or one is blank."""
        keys = (self.back, self.main, self.more, self.help)
        if len(set(keys)) < len(keys) or any(key != key.strip() or not key for key in keys):
            raise ValueError(f"navigation keys must be four different texts, not {keys}")


@dataclass(frozen=True, slots=True)
class Target:
    """Where an exit leads; without a state, to the start of the flow."""

    flow: str
    state: str | None
    line: int = field(default=0, compare=False)

    def __str__(self) -> str:
        return f"flow:{self.flow}/{self.state}" if self.state else f"flow:{self.flow}"


@dataclass(frozen=True, slots=True)
class Ask:
    """A typed answer. `low` and `high` count in `unit` (letters, for a text)."""

    type: AskType
    low: Decimal
    high: Decimal
    example: str
    unit: Unit | None = None
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """One numbered line of a fixed menu; `option` is built once, not at every turn."""

    key: str
    option: Option
    to: Target | None = None
    line: int = field(default=0, compare=False)

    @property
    def value(self) -> object:
        """What is kept when this line is chosen."""
        return self.option.value


@dataclass(frozen=True, slots=True)
class Branch:
    """One way out of a branching state; without a guard it is always open."""

    guard: str | None
    to: Target
    line: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class State:
    """One screen, or one branching that is never seen."""

    name: str
    kind: Kind
    say: str | None = None
    show: str | None = None
    ask: Ask | None = None
    choices: tuple[Line, ...] = ()
    options: str | None = None
    when: tuple[Branch, ...] = ()
    store: str | None = None
    also: Mapping[str, str] = field(default_factory=dict)
    to: Target | None = None
    help: str | None = None
    called: str | None = None
    note: str | None = None
    lines: Mapping[str, int] = field(default_factory=dict, compare=False)

    @property
    def ends(self) -> bool:
        """Whether nothing is asked any more here."""
        return self.kind == "end"

    def line_of(self, key: str) -> int:
        """The line of a key in the file, or of the state itself when it has no such key."""
        return self.lines.get(key, self.lines.get("", 1))

    def targets(self) -> tuple[Target, ...]:
        """Every place to which an exit of this state leads, in the order of the file."""
        own = [choice.to for choice in self.choices if choice.to]
        return (*own, *(branch.to for branch in self.when), *((self.to,) if self.to else ()))


@dataclass(frozen=True, slots=True)
class Flow:
    """One conversation as read from one file; `version` is a hash of the file's text."""

    name: str
    file: str
    version: str
    start: str
    states: Mapping[str, State]
    line: int = field(default=1, compare=False)
    start_line: int = field(default=1, compare=False)
