"""Several answers in one text, such as "20 15 tomato 500", given to questions in a row.

Each part must fit its question on its own. Only questions that keep an answer are filled this
way: a result, a free text or a menu that only leads somewhere is always seen first. A menu not
yet seen is answered by words alone, for nobody knows its numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from service.dialogue.answers import (
    NotUnderstood,
    Understood,
    menu_key,
    read_menu,
    read_name,
    read_quantities,
    read_quantity,
    read_typed,
)
from service.dialogue.model import Ask
from service.dialogue.progress import Progress
from service.dialogue.vocabulary import Quantity, Vocabulary

MOST_WORDS = 4
"""How many words the name of one answer may have when it is cut out of a longer run."""

_TIMES = re.compile(r"(?<=\w)\s*[×*]\s*(?=\d)|(?<=\d)\s*[xX]\s*(?=\d)")
_GAP = re.compile(r",?[\s;]+|;")
_HUNDREDS = re.compile(r"\d{3}")
_ONE_TO_THREE_DIGITS = re.compile(r"\d{1,3}")


@dataclass(frozen=True, slots=True)
class Part:
    """Words that belong together.

    `tie` is the "by" or "x" that ties them to the part before; tied sizes may share one unit,
    so they are read together, and each keeps its own `quantity`.
    """

    words: tuple[str, ...]
    tie: str = ""
    quantity: Quantity | None = None

    @property
    def text(self) -> str:
        """The part as it was sent."""
        return " ".join(self.words)

    @property
    def counts(self) -> bool:
        """Whether the part has a number, of any script's digits."""
        return any(_counts(word) for word in self.words)


@dataclass(frozen=True, slots=True)
class Filled:
    """How far several answers went: `failed` is why the next part did not fit, if it was tried."""

    progress: Progress
    count: int
    rest: tuple[Part, ...]
    failed: NotUnderstood | None = None


def split_parts(text: str, vocabulary: Vocabulary, joiners: Iterable[str]) -> tuple[Part, ...]:
    """Take a text apart: each number with its unit, and the words between numbers."""
    parts: list[Part] = []
    ties, tie = frozenset(joiners), ""
    tidy = " ".join(text.split()).rstrip(".,")
    for word in _GAP.split(_TIMES.sub(" × ", tidy)):
        if parts and parts[-1].counts and word.casefold() in ties:
            tie = word
        elif word and (tie or not parts):
            parts.append(Part((word,), tie))
            tie = ""
        elif word:
            _add(parts, word, vocabulary)
    return tuple(_read_together(parts, vocabulary))


def _counts(word: str) -> bool:
    return any(letter.isdecimal() for letter in word)


def _add(parts: list[Part], word: str, vocabulary: Vocabulary) -> None:
    """Put a word to the part before it, or begin another part with it."""
    last = parts[-1]
    if not _counts(word):
        if last.counts and not _gives_unit(last.text, f"{last.text} {word}", vocabulary):
            parts.append(Part((word,)))
        else:
            parts[-1] = replace(last, words=(*last.words, word))
    elif not last.counts and _gives_unit(word, f"{last.words[-1]} {word}", vocabulary):
        # Some languages put the unit first: "mita 20".
        parts[-1:] = [replace(last, words=last.words[:-1])] if len(last.words) > 1 else []
        tie = "" if len(last.words) > 1 else last.tie
        parts.append(Part((last.words[-1], word), tie))
    else:
        parts.append(Part((word,)))


def _gives_unit(bare: str, longer: str, vocabulary: Vocabulary) -> bool:
    """Whether a number without a unit has one when a word is put to it."""
    alone = read_quantities(bare, vocabulary)
    both = read_quantities(longer, vocabulary)
    if isinstance(alone, NotUnderstood) or isinstance(both, NotUnderstood):
        return False
    return len(alone) == len(both) == 1 and alone[0].unit is None and both[0].unit is not None


def _read_together(parts: list[Part], vocabulary: Vocabulary) -> Iterator[Part]:
    """Give parts that are tied together the sizes that they have together."""
    while parts:
        end = 1
        while end < len(parts) and parts[end].tie and parts[end].counts:
            end += 1
        group, parts = parts[:end], parts[end:]
        if len(group) > 1:
            text = " ".join(f"{part.tie} {part.text}".strip() for part in group)
            found = read_quantities(text, vocabulary)
            if not isinstance(found, NotUnderstood) and len(found) == len(group):
                group = [
                    replace(part, quantity=size) for part, size in zip(group, found, strict=True)
                ]
        yield from group


def fill(progress: Progress, parts: tuple[Part, ...], vocabulary: Vocabulary) -> Filled:
    """Give each part to the next question, for as long as they fit."""
    done, count, rest, before = progress, 0, parts, None
    while rest and _may_be_filled(done, seen=count == 0):
        part, asked = rest[0], done.state.ask
        if part.tie and part.counts and not _same_kind(before, asked):
            return Filled(done, count, rest, NotUnderstood("many-numbers"))
        read, rest_after = _read_part(done, rest, vocabulary, seen=count == 0)
        if isinstance(read, NotUnderstood):
            return Filled(done, count, rest, read)
        done, rest, before, count = done.after(read), rest_after, asked, count + 1
    return Filled(done, count, rest)


def _may_be_filled(progress: Progress, *, seen: bool) -> bool:
    state = progress.state
    if not state.store or (state.ask and state.ask.type == "text"):
        return False
    return seen or not state.show


def _same_kind(before: Ask | None, now: Ask | None) -> bool:
    """ "20 by 30" are two sides of one thing: both must be asked for, and alike."""
    return before is not None and now is not None and before.type == now.type


def _read_part(
    progress: Progress, parts: tuple[Part, ...], vocabulary: Vocabulary, *, seen: bool
) -> tuple[Understood | NotUnderstood, tuple[Part, ...]]:
    part, rest = parts[0], parts[1:]
    if part.quantity is not None and progress.state.ask:
        return read_quantity(progress.state.ask, part.quantity), rest
    whole = _read(progress, part.text, vocabulary, seen=seen)
    if isinstance(whole, Understood) or part.counts:
        return whole, rest
    # "tomato bucket" may be the answers to two menus: cut it where one cut alone makes sense.
    cuts = [
        (read, (replace(part, words=part.words[place:]), *rest))
        for place in range(1, min(len(part.words), MOST_WORDS + 1))
        if isinstance(
            read := _read(progress, " ".join(part.words[:place]), vocabulary, seen=seen),
            Understood,
        )
    ]
    return cuts[0] if len(cuts) == 1 else (whole, rest)


def _read(
    progress: Progress, text: str, vocabulary: Vocabulary, *, seen: bool
) -> Understood | NotUnderstood:
    if progress.state.ask:
        return read_typed(progress.state.ask, text, vocabulary)
    options = progress.options()
    if seen:
        return read_menu(text, progress.keys(options), options, vocabulary)
    return NotUnderstood("no-choice") if menu_key(text) else read_name(text, options, vocabulary)


def may_be_one_number(progress: Progress, parts: tuple[Part, ...], vocabulary: Vocabulary) -> bool:
    """Whether "1 500" may be fifteen hundred written with a gap, and would fit the question."""
    if len(parts) < 2 or progress.state.ask is None:
        return False
    first, second = parts[0].text, parts[1].words[0]
    if not (_ONE_TO_THREE_DIGITS.fullmatch(first) and _HUNDREDS.fullmatch(second)):
        return False
    if int(first) == 0:
        # Nobody writes 120 as "0 120": these are two answers.
        return False
    return isinstance(read_typed(progress.state.ask, first + second, vocabulary), Understood)
