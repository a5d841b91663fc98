"""Who may open a page, what its forms must carry, and what happens when the desk refuses."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeAlias, TypeVar

from flask import g, request
from werkzeug.wrappers import Response

from service.desk.refusals import DeskRefused
from service.records import Account, Role

View: TypeAlias = Callable[..., "str | Response | tuple[str, int]"]
AnyView = TypeVar("AnyView", bound=Callable[..., Any])

ANYBODY, OPEN = "anybody", "open"
"""Marks of a page for everybody who has signed in, and of one for everybody."""
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


def signed_in(*roles: Role) -> Callable[[AnyView], AnyView]:
    """Mark a page as one for these roles, or for everybody who has signed in.

    The frame looks at the mark before each request; a page without one is shown to nobody.
    """
    return _marked(roles or (ANYBODY,))


def for_everybody(view: AnyView) -> AnyView:
    """Mark a page that needs nobody to sign in."""
    return _marked((OPEN,))(view)


def takes_files(most_octets: int) -> Callable[[AnyView], AnyView]:
    """Let the forms of a page be as large as a file that is sent with them [octets]."""

    def mark(view: AnyView) -> AnyView:
        view.most_octets = most_octets  # type: ignore[attr-defined]
        return view

    return mark


def marks_of(view: object) -> tuple[str, ...]:
    """Return for whom a page is: roles, or `anybody`, or `open`; empty for an unmarked page."""
    return tuple(getattr(view, "for_whom", ()))


def may(account: Account | None, marks: tuple[str, ...]) -> bool:
    """Whether an account may open a page with these marks."""
    if OPEN in marks:
        return True
    if account is None or not marks:
        return False
    return ANYBODY in marks or bool({"admin", *marks} & set(account.roles))


def or_again(show: View) -> Callable[[AnyView], AnyView]:
    """Show another page again, with what was typed and why, when the desk refuses a form.

    `show` is called with the same ids. Its template finds what was typed by `typed(name)`.
    """

    def decorate(view: AnyView) -> AnyView:
        @wraps(view)
        def guarded(**ids: Any) -> Any:
            try:
                return view(**ids)
            except DeskRefused as refused:
                g.refused = refused
                return show(**ids)

        return guarded  # type: ignore[return-value]

    return decorate


def sent() -> bool:
    """Whether this request sends a form."""
    return request.method not in SAFE


def _marked(marks: tuple[str, ...]) -> Callable[[AnyView], AnyView]:
    def mark(view: AnyView) -> AnyView:
        view.for_whom = marks  # type: ignore[attr-defined]
        return view

    return mark
