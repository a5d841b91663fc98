"""The frame of the desk's pages: who asks, in which language, and what stands around a page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from flask import current_app, flash, g, redirect, render_template, request, session, url_for
from werkzeug.exceptions import Forbidden, HTTPException
from werkzeug.wrappers import Response

from service.console.desk import access, sitting
from service.console.desk.jobs import Jobs
from service.console.desk.keeping import KeepsPrices
from service.console.desk.menu import Entry, role_names, sections
from service.console.desk.speaking import Speaking
from service.console.handset import ForeignForm
from service.console.words import Translate
from service.desk.refusals import Clash, DeskRefused, NotYours, Unknown
from service.phrases import Phrase, say
from service.records import Account
from service.sizing.tables import Tables
from service.text.languages import LANGUAGES

STATIC = Path(__file__).parent / "static"
STATUS = ((NotYours, 403), (Unknown, 404), (Clash, 409))
FORM_REFUSED = 422
SIGN_IN = "desk.sign_in.sign_in"


@dataclass(frozen=True)
class DeskPages:
    """Everything that the pages need, made elsewhere.

    `zone` is the clock by which moments are shown; `reviewed` tells whether a speaker has read the
    texts of a language; `invented` names the tables that are made up; `entries` is the menu.
    """

    jobs: Jobs
    translate: Translate
    clock: Callable[[], datetime]
    zone: tzinfo
    language: str
    tables: Tables
    reviewed: Callable[[str], object]
    new_id: Callable[[], str]
    new_password: Callable[[], str]
    prices: KeepsPrices
    invented: Sequence[str] = ()
    helpline: str = ""
    entries: list[Entry] = field(default_factory=list)

    # --- for the pages ----------------------------------------------------------------------------

    @property
    def account(self) -> Account:
        """Who asks, as the account is now."""
        account: Account | None = g.get("account")
        if account is None:
            raise Forbidden
        return account

    def now(self) -> datetime:
        """Return the moment."""
        return self.clock()

    def today(self) -> date:
        """Return the day by the clock of the service."""
        return self.clock().astimezone(self.zone).date()

    def page(self, template: str, status: int = 200, **values: Any) -> tuple[str, int]:
        """Return a page of the signed-in account, or of whoever is about to sign in.

        After a refusal (see `access.or_again`) it says why and carries the refusal's status.
        """
        refused: DeskRefused | None = g.get("refused")
        account: Account | None = g.get("account")
        around = {
            "account": account,
            "language": g.language,
            "direction": LANGUAGES[g.language].direction,
            "languages": LANGUAGES,
            "sections": sections(self.entries, account) if account else (),
            "role_names": role_names(),
            "here": request.endpoint,
            # Which section of the menu is open: "operator" of "desk.operator.queue".
            "part": _part_of(request.endpoint),
            "refusal": self.tell(refused.phrase) if refused else "",
            "unreviewed": self.is_draft(g.language),
            "invented": bool(self.invented),
            "asset": self.asset,
            "roles": account.roles if account else (),
        }
        shown = render_template(f"desk/{template}", **{**around, **values})
        return shown, status_of(refused) if refused else status

    def tell(self, phrase: Phrase) -> str:
        """Say a phrase in the language of the page."""
        return self.translate(phrase, g.language)

    def is_draft(self, language: str) -> bool:
        """Whether no speaker has read the texts of a language; English is the source."""
        return language != "en" and self.reviewed(language) is None

    def notice(self, phrase: Phrase) -> None:
        """Say something on the next page, such as that a form was kept. Never a number."""
        flash(self.tell(phrase))

    def go(self, endpoint: str, **ids: Any) -> Response:
        """Send the browser to a page after a form was taken."""
        return redirect(url_for(endpoint, **ids), 303)

    def add_to_menu(self, entries: Sequence[Entry]) -> None:
        """Put pages into the menu, in the order of their sections."""
        self.entries.extend(entries)

    # --- for the frame ----------------------------------------------------------------------------

    def begin(self) -> Response | None:
        """Look, before each request, who asks and whether they may. Forms carry their token."""
        self.look()
        view = current_app.view_functions[request.endpoint or ""]
        request.max_content_length = getattr(view, "most_octets", request.max_content_length)
        marks = access.marks_of(view)
        if g.account is None and access.OPEN not in marks:
            return self._to_sign_in()
        if access.sent() and not sitting.is_own(request.form.get("token", "")):
            raise ForeignForm
        if not access.may(g.account, marks):
            raise Forbidden
        return None

    def look(self) -> None:
        """Keep for this request who asks and which language they read."""
        g.account, g.language = None, self._guest_language()
        found = sitting.current(self.now())
        g.account = self.jobs.signing_in.account(found) if found else None
        if g.account is not None and g.account.language in LANGUAGES:
            g.language = g.account.language

    def refused(self, refused: DeskRefused) -> tuple[str, int]:
        """Return the page for a refusal that no form shows; what was typed stands on it."""
        g.refused = refused
        kept = [(k, v) for k, v in request.form.items() if k != "token" and "password" not in k]
        return self.page("refused.html", typed_in=kept)

    def error_page(self, error: HTTPException) -> tuple[str, int]:
        """Return the page for what went wrong; it asks the store for nothing."""
        g.setdefault("account", None)
        g.setdefault("language", self._guest_language())
        title, words = _error_words(error)
        g.pop("refused", None)
        code = error.code or 500
        return self.page("error.html", code, title_phrase=title, words=words, code=code)

    def asset(self, name: str) -> str:
        """Return the address of a style or script, which changes with what is in it."""
        return url_for("desk.static", filename=name, v=_mark(name))

    def speaking(self) -> Speaking:
        """Return what templates can call."""
        return Speaking(self.translate, self.zone)

    def _to_sign_in(self) -> Response:
        back = {} if access.sent() else {"next": request.full_path.rstrip("?")}
        if access.sent():
            self.notice(say("Your sitting is over: sign in, then go back to find what you typed."))
        return redirect(f"{url_for(SIGN_IN)}?{urlencode(back)}".rstrip("?"), 303)

    def _guest_language(self) -> str:
        kept = session.get("language") if session else None
        if kept in LANGUAGES:
            return str(kept)
        return request.accept_languages.best_match(list(LANGUAGES)) or self.language


def _part_of(endpoint: str | None) -> str:
    names = (endpoint or "").split(".")
    return names[1] if len(names) == 3 else ""


@cache
def _mark(name: str) -> str:
    return sha256((STATIC / name).read_bytes()).hexdigest()[:12]


def status_of(refused: DeskRefused) -> int:
    """Return the status of a page that tells a refusal."""
    return next((code for kind, code in STATUS if isinstance(refused, kind)), FORM_REFUSED)


def _error_words(error: HTTPException) -> tuple[Phrase, Phrase]:
    if isinstance(error, ForeignForm):
        return (
            say("Open the page again"),
            say("This form is not from your page, or your cookie is gone: open the page again."),
        )
    match error.code:
        case 403:
            return say("Not for this account"), say("Your account may not do this. Ask an admin.")
        case 404:
            return say("Nothing here"), say("There is no such page. Go back and look again.")
        case 413:
            return say("Too large"), say("What you sent is too large to be taken.")
        case 500:
            return (
                say("Something failed"),
                say("Something failed here and nothing was changed. Try again in a minute."),
            )
        case _:
            return (
                say("That was not understood"),
                say("The page sent something that cannot be read. Open it again and repeat."),
            )
