"""Sentences out of flow files and tables, for translators: Babel extractors.

Every `say`, `help` and `called` of a flow file is a sentence; a state's `note` goes to the
translators, with where the sentence stands and how much room it has.
"""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterator, Mapping
from io import StringIO
from typing import BinaryIO, NamedTuple

import yaml

from service.errors import LineProblem, TextFileError
from service.text.budgets import CHOICE, SENTENCE, Room, stated_room

_SENTENCES = ("say", "help", "called")
_NAME = "a word by which people name this question when they correct an answer: tank 1000"


class FlowText(NamedTuple):
    """One sentence of a flow file, its line there, and notes for translators."""

    line: int
    text: str
    notes: tuple[str, ...]


class _Place(NamedTuple):
    """Where the walk is: flow, state, what is said there, its note and its room."""

    flow: str
    state: str
    what: str
    note: str
    room: Room


def extract_flow(
    fileobj: BinaryIO,
    keywords: Collection[str] | Mapping[str, object],
    comment_tags: Collection[str],
    options: Mapping[str, object],
) -> Iterator[tuple[int, None, str, list[str]]]:
    """Yield the sentences of a flow file as Babel wants them.

    `keywords`, `comment_tags` and `options` are Babel's and change nothing here. Raises
    TextFileError for a file that is not YAML.
    """
    text = fileobj.read().decode("utf-8")
    for found in flow_texts(text, str(getattr(fileobj, "name", "flow file"))):
        yield found.line, None, found.text, list(found.notes)


def extract_parts(
    fileobj: BinaryIO,
    keywords: Collection[str] | Mapping[str, object],
    comment_tags: Collection[str],
    options: Mapping[str, object],
) -> Iterator[tuple[int, None, str, list[str]]]:
    """Yield what the tables of parts say to people, as Babel wants it.

    Names and checks in the shop of `parts.csv`, sentences of `parts_avoid.csv`.
    """
    notes = {
        "name": "a part as a shop says it",
        "check": "to check in the shop",
        "sentence": "what not to buy, and why",
    }
    rows = csv.DictReader(StringIO(fileobj.read().decode("utf-8")))
    for row in rows:
        for column, note in notes.items():
            if row.get(column):
                yield rows.line_num, None, row[column], [note]


def flow_texts(text: str, file: str) -> tuple[FlowText, ...]:
    """Return the sentences of a flow file in the order of the file.

    Raises TextFileError, with file and line, for a text that is not YAML.
    """
    try:
        root = yaml.compose(text, Loader=yaml.SafeLoader)
    except yaml.MarkedYAMLError as error:
        line = error.problem_mark.line + 1 if error.problem_mark else 1
        raise TextFileError([LineProblem(file, line, str(error.problem))]) from error
    except yaml.YAMLError as error:
        raise TextFileError([LineProblem(file, 1, str(error))]) from error
    if not isinstance(root, yaml.MappingNode):
        return ()
    flow = _text_of(_entries(root).get("flow")) or file
    states = _entries(root).get("states")
    if not isinstance(states, yaml.MappingNode):
        return ()
    return tuple(
        found
        for name, state in _entries(states).items()
        if isinstance(state, yaml.MappingNode)
        for found in _texts_of_state(flow, name, state)
    )


def _texts_of_state(flow: str, name: str, state: yaml.MappingNode) -> Iterator[FlowText]:
    entries = _entries(state)
    place = _Place(flow, name, "", _text_of(entries.get("note")), SENTENCE)
    yield from _said(entries, place)
    choices = entries.get("choices")
    if isinstance(choices, yaml.SequenceNode):
        for choice in choices.value:
            if isinstance(choice, yaml.MappingNode):
                own = _entries(choice)
                what = f"choice {_text_of(own.get('key'))} of "
                # A state's note about its question does not fit each of its choices.
                note = _text_of(own.get("note"))
                yield from _said(own, place._replace(what=what, note=note, room=CHOICE))


def _said(entries: Mapping[str, yaml.Node], place: _Place) -> Iterator[FlowText]:
    for key in _SENTENCES:
        node = entries.get(key)
        if text := _text_of(node):
            assert node is not None
            what = f"{key} of " if key in ("help", "called") else place.what
            if key == "called":
                place = place._replace(note=_NAME, room=CHOICE)
            yield FlowText(node.start_mark.line + 1, text, _notes(place._replace(what=what)))


def _notes(place: _Place) -> tuple[str, ...]:
    where = f"where: {place.what}{place.flow}/{place.state}"
    budget = "" if stated_room([place.note]) else str(place.room)
    return tuple(note for note in (where, " ".join(place.note.split()), budget) if note)


def _entries(node: yaml.MappingNode) -> dict[str, yaml.Node]:
    return {_text_of(key): value for key, value in node.value}


def _text_of(node: yaml.Node | None) -> str:
    """Return a plain value as it is written, or nothing for anything else."""
    return str(node.value) if isinstance(node, yaml.ScalarNode) else ""
