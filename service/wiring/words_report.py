"""What `litreline words LANGUAGE` says: what is missing, too long and unreviewed, and the cost."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from babel.messages.catalog import Catalog

from service.errors import LineProblem
from service.text import checks, reviews
from service.text.glossary import NOT_BY_IT
from service.text.languages import Language

_KINDS = (
    ("missing", ("caution missing", "text missing")),
    ("too long", ("too long",)),
    ("not by the glossary", (NOT_BY_IT,)),
    ("not wanted any more", ("nobody says this",)),
)
_OTHER = "wrong otherwise"


def catalogue_report(
    wanted: Catalog, catalogue: Catalog, language: Language, problems: Iterable[LineProblem]
) -> str:
    """Return the report on one catalogue, the numbers first, then what they count, by line."""
    sizes = [size for message in catalogue if message.id and (size := checks.cost(message))]
    by_kind = _by_kind(problems)
    unread = reviews.unreviewed(catalogue)
    lines = [
        f"{language.english_name} ({language.code}): {len(sizes)} of {len(wanted)} texts",
        review_told(catalogue),
        *(f"{kind}: {len(found)}" for kind, found in by_kind.items()),
        f"unreviewed: {len(unread)}",
        f"in UCS-2: {sum(size.encoding == 'ucs2' for size in sizes)}",
        f"longer than one text message: {sum(size.parts > 1 for size in sizes)}",
        *_told(by_kind),
        *_unread(catalogue, language),
    ]
    return "\n".join(lines) + "\n"


def review_told(catalogue: Catalog) -> str:
    """Return who reviewed a catalogue and when, in words, and what came into it later."""
    review = reviews.review_of(catalogue)
    if review is None:
        return "unreviewed first draft"
    later = len(reviews.unreviewed(catalogue))
    return f"reviewed by {review.who} on {review.when}" + (
        f"; unreviewed since: {later}" * bool(later)
    )


def _by_kind(problems: Iterable[LineProblem]) -> dict[str, list[LineProblem]]:
    found: dict[str, list[LineProblem]] = {kind: [] for kind in (*dict(_KINDS), _OTHER)}
    for problem in problems:
        kinds = (kind for kind, begins in _KINDS if problem.message.startswith(begins))
        found[next(kinds, _OTHER)].append(problem)
    return found


def _told(by_kind: dict[str, list[LineProblem]]) -> Iterator[str]:
    for found in by_kind.values():
        yield from map(str, found)


def _unread(catalogue: Catalog, language: Language) -> Iterator[str]:
    """Yield what came after the review; of a draft, with nothing reviewed, a list tells no more."""
    if reviews.review_of(catalogue) is None:
        return
    file = checks.catalogue_file(language.code)
    for message in reviews.unreviewed(catalogue):
        yield f"{file}:{message.lineno or 1}: unreviewed: {checks.named(message)}"
