"""The handset page: forms and redirects only, so that it works without scripts and by keyboard."""

from __future__ import annotations

import hmac
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Protocol

from flask import Blueprint, g, redirect, render_template, request, session, url_for
from werkzeug.exceptions import BadRequest
from werkzeug.wrappers import Response

from service.channels import Conflict, Incoming, Phase, Reply, cost_of
from service.console.visit import (
    CHANNELS,
    COOKIE,
    LONGEST_ECHO,
    PHONES,
    Exchange,
    Handheld,
    Visit,
    new_visit,
)
from service.console.words import STALE, Translate, channel_words, cost_words, page_words
from service.phrases import Phrase
from service.text.languages import LANGUAGES
from service.text.septets import BASIC, EXTENSION

CHANNEL = "handset"
LONGEST_ANSWER = {"ussd": 182, "sms": 459}
"""Most letters of an answer: what one USSD string holds; three parts of a text."""
SHOWN_TEXTS = 8


class ForeignForm(BadRequest):
    """A form without the token of this browser."""


@dataclass(frozen=True, slots=True)
class TextLine:
    """A text of a phone: its own (`mine`), or one that it got."""

    text: str
    mine: bool


class TakesTurns(Protocol):
    """What answers one message of a conversation."""

    def take(self, incoming: Incoming, now: datetime) -> Reply:
        """Take one message and return what the caller sees next."""


class TakesTexts(Protocol):
    """What answers texts, and keeps both sides of them."""

    def send(self, number: str, message_id: str, text: str, now: datetime) -> None:
        """Take a text. Raises Conflict for another text under the same id."""

    def thread(self, number: str, most: int) -> tuple[TextLine, ...]:
        """Return the last texts both ways, the newest last."""

    def speak(self, number: str, language: str, now: datetime) -> None:
        """Choose the language in which the next text is answered."""


@dataclass(frozen=True)
class Handset:
    """What the page needs, made elsewhere. `languages` maps a code to the language's own name."""

    turns: TakesTurns
    texts: TakesTexts
    translate: Translate
    languages: Mapping[str, str]
    language: str
    invented: bool
    clock: Callable[[], datetime]
    new_id: Callable[[], str]

    def begun(self, phone: Handheld, language: str) -> Handheld:
        """The phone with a new call."""
        dialled = replace(phone.dialled(), language=language)
        reply = self._taken(dialled, "", "begin", language)
        return dialled.shown(reply)

    def answered(self, phone: Handheld, text: str) -> Handheld:
        """The phone after an answer, or after a text."""
        if phone.channel == "sms":
            message_id = f"{phone.visitor}-{phone.texts}"
            self.texts.send(phone.number, message_id, text, self.clock())
            return replace(phone, texts=phone.texts + 1)
        return phone.shown(self._taken(phone, text, "continue", None), text)

    def spoken_to(self, phone: Handheld, language: str) -> Handheld:
        """The phone with the same screen in another language."""
        changed = replace(phone, language=language)
        if phone.channel == "sms":
            self.texts.speak(phone.number, language, self.clock())
            return changed
        if not phone.begun or not phone.more:
            return changed
        reply = self._taken(changed, "", "continue", language)
        return changed.shown(reply)

    def _taken(self, phone: Handheld, text: str, phase: Phase, language: str | None) -> Reply:
        incoming = Incoming(
            channel=CHANNEL,
            number=phone.number,
            gateway_session=phone.gateway_session,
            step=phone.step + 1,
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
        visit, which, phone = _own_form(handset)
        return _kept(visit.with_phone(which, handset.begun(phone, _language(handset, phone))))

    @blueprint.post("/answer")
    def answer() -> Response:
        visit, which, phone = _own_form(handset)
        awaited = phone.channel == "sms" or phone.more
        if request.form.get("step") != str(phone.expected) or not awaited:
            return _kept(visit.with_phone(which, phone, STALE))
        text = request.form.get("text", "")[: LONGEST_ANSWER[phone.channel]]
        try:
            return _kept(visit.with_phone(which, handset.answered(phone, text)))
        except Conflict:
            # The conversation moved on elsewhere, such as in a copy of this browser.
            return _kept(visit.with_phone(which, _caught_up(handset, phone), STALE))

    @blueprint.post("/language")
    def language() -> Response:
        visit, which, phone = _own_form(handset)
        wanted = _language(handset, phone)
        try:
            return _kept(visit.with_phone(which, handset.spoken_to(phone, wanted)))
        except Conflict:
            return _kept(visit.with_phone(which, handset.begun(phone, wanted), STALE))

    @blueprint.post("/channel")
    def channel() -> Response:
        visit, which, phone = _own_form(handset)
        wanted = request.form.get("channel")
        known = next((one for one in CHANNELS if one == wanted), phone.channel)
        return _kept(visit.with_phone(which, replace(phone, channel=known)))

    return blueprint


def _caught_up(handset: Handset, phone: Handheld) -> Handheld:
    if phone.channel == "sms":
        return replace(phone, texts=phone.texts + 1)
    return handset.begun(phone, phone.language)


def _visit(handset: Handset) -> Visit:
    kept = Visit.from_cookie(session.get(COOKIE))
    return kept or new_visit(handset.language, handset.new_id)


def _own_form(handset: Handset) -> tuple[Visit, str, Handheld]:
    """The visitor whose page sent this form, and of which phone; 400 for anybody else's page."""
    visit = _visit(handset)
    token = request.form.get("token", "").encode("utf-8")
    if not hmac.compare_digest(token, visit.token.encode("utf-8")):
        raise ForeignForm
    asked = request.form.get("phone", "")
    which = asked if asked in PHONES else PHONES[0]
    return visit, which, visit.phones[which]


def _language(handset: Handset, phone: Handheld) -> str:
    wanted = request.form.get("language", phone.language)
    return wanted if wanted in handset.languages else phone.language


def _kept(visit: Visit) -> Response:
    session[COOKIE] = visit.to_cookie()
    return redirect(url_for("console.page"), 303)


def _shown(handset: Handset, visit: Visit) -> str:
    main = visit.phones[PHONES[0]].language
    g.language = main
    return render_template(
        "handset.html",
        visit=visit,
        phones=[_phone_shown(handset, visit, which) for which in PHONES],
        language=main,
        direction=LANGUAGES[main].direction,
        words=_said(handset, page_words(), main),
        languages=handset.languages,
        invented=handset.invented,
        basic=BASIC,
        extension="".join(EXTENSION),
    )


def _phone_shown(handset: Handset, visit: Visit, which: str) -> dict[str, Any]:
    phone, language = visit.phones[which], visit.phones[which].language
    if phone.channel == "sms":
        screen, earlier = _of_thread(handset.texts.thread(phone.number, SHOWN_TEXTS))
    else:
        screen, earlier = phone.screen if phone.begun else "", phone.earlier
    return {
        "which": which,
        "count": PHONES.index(which) + 1,
        "phone": phone,
        "words": _said(handset, page_words(), language),
        "channels": _said(handset, channel_words(), language),
        "direction": LANGUAGES[language].direction,
        "screen": screen,
        "cost": [handset.translate(one, language) for one in cost_words(cost_of(screen))],
        "earlier": earlier,
        "asks": phone.channel == "sms" or (phone.begun and phone.more),
        "longest": LONGEST_ANSWER[phone.channel],
        "first": visit.last == which,
    }


def _of_thread(lines: tuple[TextLine, ...]) -> tuple[str, tuple[Exchange, ...]]:
    """The newest text that came, and what stood before it, by pairs of a text and the answer."""
    screen, earlier = "", []
    for line in lines:
        if line.mine:
            earlier.append(Exchange(screen, line.text[:LONGEST_ECHO]))
            screen = ""
        else:
            screen = line.text
    return screen, tuple(earlier)


def _said(handset: Handset, phrases: Mapping[str, Phrase], language: str) -> dict[str, str]:
    return {name: handset.translate(phrase, language) for name, phrase in phrases.items()}
