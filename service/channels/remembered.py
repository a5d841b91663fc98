"""Pages of screens that are always the same, kept once they were made.

Most screens are a question or a menu without a value in it; a service that answers thousands of
callers need not translate, count and cut each of them anew.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import TypeAlias

from service.channels.talk import Render
from service.phrases import Choice, Phrase, Screen

MOST_SCREENS = 2048

_Key: TypeAlias = tuple[tuple[str, ...], tuple[tuple[str, str], ...], bool, str]


def remembered(render: Render) -> Render:
    """Return the same renderer, which makes the pages of a constant screen only once."""

    @lru_cache(maxsize=MOST_SCREENS)
    def once(key: _Key) -> tuple[str, ...]:
        lines, choices, ends, language = key
        screen = Screen(
            tuple(map(Phrase, lines)),
            tuple(Choice(number, Phrase(label)) for number, label in choices),
            ends,
        )
        return render(screen, language)

    def rendered(screen: Screen, language: str) -> tuple[str, ...]:
        if not _constant(screen.lines) or not _constant(one.label for one in screen.choices):
            return render(screen, language)
        lines = tuple(phrase.text for phrase in screen.lines)
        choices = tuple((one.key, one.label.text) for one in screen.choices)
        return once((lines, choices, screen.ends, language))

    return rendered


def _constant(phrases: Iterable[Phrase]) -> bool:
    return not any(
        phrase.values or phrase.plural is not None or phrase.context is not None
        for phrase in phrases
    )
