"""The words and digits of one caller's language, for whoever reads their answers.

Words of every language are understood, for many people mix two; where a word means different
things, the caller's own language decides. Input of any kind is safe: control characters are
ignored and long texts are read in time that grows with their length.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import cache, lru_cache
from typing import Literal, Protocol

from service.phrases import Phrase
from service.text.amounts import Quantity, Unreadable, read_quantities
from service.text.catalogues import Catalogues
from service.text.choosing import choose
from service.text.languages import SOURCE_LANGUAGE, language_of
from service.text.lexicon import LEXICONS, Command, words_of
from service.text.typed import LONGEST, words_only

_ENGLISH = Catalogues({})


class Named(Protocol):
    """Something that can be chosen: what it is called on the screen, and its other names."""

    @property
    def label(self) -> Phrase: ...
    @property
    def names(self) -> tuple[str, ...]: ...


class WordVocabulary:
    """Reads commands, sizes, choices and yes or no in one caller's language.

    `catalogues` lets a choice be made by its translated label; without them labels are English.
    Raises ValueError for an unknown language.
    """

    def __init__(self, language: str, catalogues: Catalogues | None = None) -> None:
        self.language = language_of(language).code
        self._catalogues = catalogues or _ENGLISH
        self._known: dict[tuple[str, str | None, tuple[str, ...]], tuple[str, ...]] = {}

    def command(self, text: str, offered: Sequence[Named] = (), /) -> Command | None:
        """Return the command that the whole text means, in any language known.

        A word that is also the name of something offered, as "end" may be, is an answer.
        """
        said = _without_polite(words_only(text)) if len(text) <= LONGEST else ""
        meaning = _commands(self.language).get(said)
        if meaning and any(said in self._names(option) for option in offered):
            return None
        return meaning

    def wish_to_stop(self, text: str, /) -> Literal["stop", "review", "no"]:
        """Tell a stop word from a message that a person should look at, and from any other.

        Looked at: a stop word spelt apart, or one at the beginning or end of a longer message.
        """
        if self.command(text) == "stop":
            return "stop"
        said = _without_polite(words_only(text[:LONGEST]))
        question = text.rstrip().endswith("?")
        apart = said.replace(" ", "") in _leaving() and max(map(len, said.split())) == 1
        near = any(
            f"{said} ".startswith(f"{words} ") or f" {said}".endswith(f" {words}")
            for words in _leaving()
        )
        return "review" if apart or (near and not question) else "no"

    def number(self, text: str, /) -> Decimal | Unreadable:
        """Return the one number of a text, whatever its unit, or why there is not one."""
        found = read_quantities(text, self.language)
        if isinstance(found, Unreadable):
            return found
        return found[0].value if len(found) == 1 else Unreadable("many-numbers")

    def quantities(self, text: str, /) -> tuple[Quantity, ...] | Unreadable:
        """Return every quantity of a text, at least one, or why it cannot be read."""
        return read_quantities(text, self.language)

    def choose(self, text: str, options: Sequence[Named], /) -> int | None:
        """Return the place of the option named, misspelt or not; None when none or several."""
        if len(text) > LONGEST:
            return None
        return choose(words_only(text), [self._names(option) for option in options])

    def yes_no(self, text: str, /) -> bool | None:
        """Return whether the text means yes or no; None when neither, or both in two languages."""
        said = _without_polite(words_only(text)) if len(text) <= LONGEST else ""
        own = _yes_no_of(self.language).get(said)
        if own is not None:
            return own
        meanings = {known for code in LEXICONS if (known := _yes_no_of(code).get(said)) is not None}
        return meanings.pop() if len(meanings) == 1 else None

    def _names(self, option: Named) -> tuple[str, ...]:
        label = option.label
        if label.values or label.plural is not None:
            return self._translated(option)
        # A menu of thirty crops is read in every call, and its names never change.
        key = (label.text, label.context, option.names)
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self._translated(option)
        return known

    def _translated(self, option: Named) -> tuple[str, ...]:
        languages = {self.language, SOURCE_LANGUAGE}
        labels = (self._catalogues.translate(option.label, language) for language in languages)
        names = (_comparable(name) for name in (*labels, *option.names))
        return tuple(dict.fromkeys(name for name in names if name))


JOINERS: tuple[str, ...] = tuple(
    dict.fromkeys(word for lexicon in LEXICONS.values() for word in words_of(lexicon.joining))
)
"""Words of every language that tie two sizes together, as in "20 by 30"."""


@lru_cache(maxsize=4096)
def _comparable(name: str) -> str:
    return words_only(name)


@cache
def _commands(language: str) -> Mapping[str, Command]:
    found: dict[str, Command] = {}
    # The caller's own language last, so that it decides.
    for code in sorted(LEXICONS, key=lambda code: code == language):
        for command, line in LEXICONS[code].commands.items():
            found.update(dict.fromkeys(map(words_only, words_of(line)), command))
    return found


@cache
def _yes_no_of(language: str) -> Mapping[str, bool]:
    lexicon = LEXICONS.get(language)
    if lexicon is None:
        return {}
    yes = dict.fromkeys(map(words_only, words_of(lexicon.yes)), True)
    return yes | dict.fromkeys(map(words_only, words_of(lexicon.no)), False)


@cache
def _leaving() -> frozenset[str]:
    lines = (lexicon.leaving for lexicon in LEXICONS.values())
    return frozenset(words_only(words) for line in lines for words in words_of(line))


@cache
def _polite() -> tuple[str, ...]:
    lines = (lexicon.polite for lexicon in LEXICONS.values())
    words = {words_only(each) for line in lines for each in words_of(line)}
    return tuple(sorted(words, key=len, reverse=True))


def _without_polite(said: str) -> str:
    """Return the words without "please" and the like at either end, unless nothing is left."""
    rest = said
    changed = True
    while changed:
        changed = False
        for words in _polite():
            shorter = rest.removeprefix(f"{words} ").removesuffix(f" {words}")
            if shorter != rest:
                rest, changed = shorter, True
    return rest
