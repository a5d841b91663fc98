"""Reading YAML so that every word stays text and every problem knows its line.

PyYAML composes a tree of nodes with marks; nothing in it is ever turned into a Python object,
so `no` stays "no", a key `1` stays "1", and a tag in the file can construct nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import ClassVar

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from service.errors import LineProblem


class _WordsOnly(yaml.SafeLoader):
    """A loader for which every plain scalar is text."""

    yaml_implicit_resolvers: ClassVar[dict[str, list[object]]] = {}  # type: ignore[misc]


@dataclass(slots=True)
class Problems:
    """Everything wrong in the files, gathered so that all of it is told at once."""

    found: list[LineProblem] = field(default_factory=list)

    def add(self, file: str, line: int, message: str) -> None:
        """Note one problem."""
        self.found.append(LineProblem(file, line, message))

    def ordered(self) -> tuple[LineProblem, ...]:
        """Every problem once, by file, line and message."""
        return tuple(sorted(set(self.found), key=lambda one: (one.file, one.line, one.message)))


def near(word: str, known: Iterable[str]) -> str:
    """A closing half-sentence with the nearest known word, or with all of them if few."""
    words = sorted(known)
    close = get_close_matches(word, words, n=1, cutoff=0.6)
    if close:
        return f"; did you mean {close[0]!r}?"
    return f"; known here: {', '.join(words)}" if words else ""


def line_of(node: Node) -> int:
    """The line, counted from 1, on which a node begins."""
    return int(node.start_mark.line) + 1


@dataclass(frozen=True, slots=True)
class Sheet:
    """One file being read: its name, and where its problems go."""

    file: str
    problems: Problems

    def wrong(self, where: Node | int, message: str) -> None:
        """Note a problem at a node or line of this file."""
        self.problems.add(self.file, where if isinstance(where, int) else line_of(where), message)

    def compose(self, text: str) -> Node | None:
        """The tree of the file, or None when it is not YAML or is empty."""
        try:
            node = yaml.compose(text, Loader=_WordsOnly)
        except yaml.MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            self.wrong(mark.line + 1 if mark else 1, f"this is not YAML: {error.problem}")
        except yaml.reader.ReaderError as error:
            line = text.count("\n", 0, error.position) + 1
            self.wrong(line, f"this file holds a character that YAML refuses: {error.reason}")
        else:
            if node is None:
                self.wrong(1, "this file is empty")
            return node
        return None

    def mapping(self, node: Node, what: str) -> dict[str, tuple[int, Node]]:
        """The keys of a mapping with the line and value of each; the first of a double key."""
        found: dict[str, tuple[int, Node]] = {}
        if not isinstance(node, MappingNode):
            self.wrong(node, f"{what} must be written as `key: value` lines")
            return found
        for key, value in self._pairs(node, what):
            if key.value in found:
                self.wrong(key, f"{key.value!r} stands twice in {what}")
            else:
                found[key.value] = (line_of(key), value)
        return found

    def _pairs(self, node: MappingNode, what: str) -> Iterator[tuple[ScalarNode, Node]]:
        for key, value in node.value:
            if isinstance(key, ScalarNode):
                yield key, value
            else:
                self.wrong(key, f"a key in {what} must be one word")

    def record(self, node: Node, known: Iterable[str], what: str) -> dict[str, tuple[int, Node]]:
        """A mapping whose keys are fixed; others are problems, with the near one suggested."""
        allowed = tuple(known)
        found = self.mapping(node, what)
        for key in [key for key in found if key not in allowed]:
            self.wrong(found.pop(key)[0], f"unknown key {key!r} in {what}{near(key, allowed)}")
        return found

    def items(self, node: Node, what: str) -> list[Node]:
        """The entries of a list."""
        if isinstance(node, SequenceNode) and node.value:
            return list(node.value)
        self.wrong(node, f"{what} must be a list with at least one entry")
        return []

    def text(self, node: Node, what: str) -> str | None:
        """One non-empty text, in one line: the catalogues know it letter for letter."""
        if not isinstance(node, ScalarNode) or not node.value.strip():
            self.wrong(node, f"{what} must be a text")
            return None
        value = str(node.value)
        if value != " ".join(value.split()):
            self.wrong(node, f"{what} must be one line without doubled or outer spaces")
        return value
