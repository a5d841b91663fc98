"""Who has read a catalogue, and which of its sentences nobody has.

The header of a catalogue says one of two things, each on a comment line of its own:

    # Unreviewed first draft: no speaker has checked it yet.
    # Reviewed by Asha Mwangi, Kotsindo on 2026-11-20.

A comment, since programs for translators keep it, while Babel drops headers that it does not know.
A sentence that came into a reviewed catalogue later has the comment `# unreviewed` of its own
until somebody has read it. None of this is the fuzzy flag, which would silence the sentence.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from babel.messages.catalog import Catalog, Message

from service.errors import LineProblem

UNREVIEWED_DRAFT = "Unreviewed first draft: no speaker has checked it yet."
UNREVIEWED = "unreviewed"
"""The comment of one sentence."""

_DRAFT = re.compile(r"^#\s*Unreviewed first draft\b", re.MULTILINE)
_REVIEWED = re.compile(r"^#\s*Reviewed by\b(?P<rest>.*)$", re.MULTILINE)
_BY_ON = re.compile(r"\s+(?P<who>\S.*?)\s+on\s+(?P<when>\d{4}-\d\d-\d\d)\.?\s*")


class Review(NamedTuple):
    """A speaker who read a whole catalogue, and on which day."""

    who: str
    when: date


def review_of(catalogue: Catalog) -> Review | None:
    """Return the last review that the header of a catalogue tells; None for a draft."""
    found = [review for _, review in _reviews(catalogue) if review is not None]
    return max(found, key=lambda review: review.when, default=None)


def unreviewed(catalogue: Catalog) -> tuple[Message, ...]:
    """Return the translated sentences that no speaker has read."""
    draft = review_of(catalogue) is None
    return tuple(
        message
        for message in catalogue
        if message.id and _is_said(message) and (draft or is_marked(message))
    )


def is_marked(message: Message) -> bool:
    """Tell whether a sentence's own comment says that nobody has read it."""
    return any(comment.strip().casefold() == UNREVIEWED for comment in message.user_comments)


def header_problems(catalogue: Catalog, file: str) -> list[LineProblem]:
    """What the header does not say of its review, says twice over, or says in no known way."""
    told = list(_reviews(catalogue))
    draft = bool(_DRAFT.search(catalogue.header_comment))
    problems = [
        LineProblem(file, 1, f"say it so: # Reviewed by NAME on 2026-11-20. Not so: {line.strip()}")
        for line, review in told
        if review is None
    ]
    if draft and told:
        problems.append(LineProblem(file, 1, "the header says both unreviewed and reviewed"))
    if not draft and not told:
        text = f"the header does not say who reviewed it; until then: # {UNREVIEWED_DRAFT}"
        problems.append(LineProblem(file, 1, text))
    return problems


def _reviews(catalogue: Catalog) -> Iterator[tuple[str, Review | None]]:
    """Yield each line about a review, and what it says if that can be read."""
    for match in _REVIEWED.finditer(catalogue.header_comment):
        told = _BY_ON.fullmatch(match["rest"])
        try:
            review = Review(told["who"], date.fromisoformat(told["when"])) if told else None
        except ValueError:
            review = None
        yield match[0], review


def _is_said(message: Message) -> bool:
    forms = message.string if isinstance(message.string, list | tuple) else (message.string,)
    return any(forms)
