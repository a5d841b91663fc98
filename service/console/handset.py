"""The handset page: forms and redirects only, so that it works without scripts and by keyboard."""

from __future__ import annotations

import hmac
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Protocol

from flask import Blueprint, abort, redirect, render_template, request, session, url_for
from werkzeug.wrappers import Response

from service.channels import Conflict, Incoming, Phase, Reply, cost_of
from service.console.visit import COOKIE, Visit, new_visit
from service.console.words import STALE, Translate, cost_words, page_words

CHANNEL = "handset"
LONGEST_ANSWER = 182
"""Most letters of an answer: what one USSD string holds."""


class TakesTurns(Protocol):
    """What answers one message of a conversation."""

    def take(self, incoming: Incoming, now: datetime) -> Reply:
        """Take one message and return what the caller sees next."""


@dataclass(frozen=True)
class Handset:
    """What the page needs, made elsewhere. `languages` maps a code to the language's own name."""

    turns: TakesTurns
    translate: Translate
    languages: Mapping[str, str]
    language: str
    invented: bool
    clock: Callable[[], datetime]
    new_id: Callable[[], str]

    def begun(self, visit: Visit, language: str) -> Visit:
        """The visitor with a new call."""
        dialled = replace(visit.dialled(), language=language)
        reply = self._taken(dialled, "", "begin", language)
        return dialled.shown(reply)

    def answered(self, visit: Visit, text: str) -> Visit:
        """The visitor after an answer."""
        reply = self._taken(visit, text, "continue", None)
        return visit.shown(reply, text)

    def spoken_to(self, visit: Visit, language: str) -> Visit:
        """The visitor with the same screen in another language."""
        changed = replace(visit, language=language)
        if not visit.begun or not visit.more:
            return changed
        reply = self._taken(changed, "", "continue", language)
        return changed.shown(reply)

    def _taken(self, visit: Visit, text: str, phase: Phase, language: str | None) -> Reply:
        incoming = Incoming(
            channel=CHANNEL,
            number=visit.number,
            gateway_session=visit.gateway_session,
            step=visit.step + 1,
            text=text,
            phase=phase,
            language=language,
        )
        return self.turns.take(incoming, self.clock())


def handset_blueprint(handset: Handset) -> Blueprint:
    """Return the page and the addresses of its forms."""
    blueprint = Blueprint(
        "console", __name__, template_folder="templates", static_folder="static",
        static_url_path="/page",
    )  # fmt: skip

    @blueprint.get("/")
    def page() -> str:
        visit = _visit(handset)
        session[COOKIE] = replace(visit, notice="").to_cookie()
        return _shown(handset, visit)

    @blueprint.post("/begin")
    def begin() -> Response:
        visit = _own_form(handset)
        return _kept(handset.begun(visit, _language(handset, visit)))

    @blueprint.post("/answer")
    def answer() -> Response:
        visit = _own_form(handset)
        if request.form.get("step") != str(visit.step + 1) or not visit.more:
            return _kept(replace(visit, notice=STALE))
        text = request.form.get("text", "")[:LONGEST_ANSWER]
        try:
            return _kept(handset.answered(visit, text))
        except Conflict:
            # The conversation moved on elsewhere, such as in a copy of this browser.
            return _kept(replace(handset.begun(visit, visit.language), notice=STALE))

    @blueprint.post("/language")
    def language() -> Response:
        visit = _own_form(handset)
        wanted = _language(handset, visit)
        try:
            return _kept(handset.spoken_to(visit, wanted))
        except Conflict:
            return _kept(replace(handset.begun(visit, wanted), notice=STALE))

    return blueprint


def _visit(handset: Handset) -> Visit:
    kept = Visit.from_cookie(session.get(COOKIE))
    return kept or new_visit(handset.language, handset.new_id)


def _own_form(handset: Handset) -> Visit:
    """The visitor whose page sent this form; 400 for a form of anybody else's page."""
    visit = _visit(handset)
    token = request.form.get("token", "").encode("utf-8")
    if not hmac.compare_digest(token, visit.token.encode("utf-8")):
        abort(400, "This form is not from your page, or your cookie is gone: open the page again.")
    return visit


def _language(handset: Handset, visit: Visit) -> str:
    wanted = request.form.get("language", visit.language)
    return wanted if wanted in handset.languages else visit.language


def _kept(visit: Visit) -> Response:
    session[COOKIE] = visit.to_cookie()
    return redirect(url_for("console.page"), 303)


def _shown(handset: Handset, visit: Visit) -> str:
    def said(phrase: object) -> str:
        return handset.translate(phrase, visit.language)  # type: ignore[arg-type]

    words = {name: said(phrase) for name, phrase in page_words().items()}
    cost = [said(phrase) for phrase in cost_words(cost_of(visit.screen))]
    return render_template(
        "handset.html",
        visit=visit,
        words=words,
        cost=cost,
        languages=handset.languages,
        invented=handset.invented,
        longest=LONGEST_ANSWER,
    )
