"""An answer that may be given twice in the same words and means something new each time."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from service.advice.context import Context


def counted(name: str) -> Callable[[Mapping[str, object], Context], int]:
    """Return what counts, under a name, how often something was said.

    The same yes about another matter, or after a STOP by text, is a new word.
    """

    def count(answers: Mapping[str, object], context: Context) -> int:
        return int(str(answers.get(name) or 0)) + 1

    return count
