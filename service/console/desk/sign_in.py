"""Signing in and out, the first page, and one's own account."""

from __future__ import annotations

from flask import Blueprint, g, request, session
from werkzeug.wrappers import Response

from service.console.desk import sitting
from service.console.desk.access import for_everybody, or_again, signed_in
from service.console.desk.frame import DeskPages
from service.phrases import say
from service.text.languages import LANGUAGES

HOME = "desk.sign_in.home"
OWN = "desk.sign_in.own"


def sign_in_pages(desk: DeskPages) -> Blueprint:
    """Return the pages that everybody has."""
    pages = Blueprint("sign_in", __name__)
    jobs = desk.jobs

    @pages.get("/sign-in")
    @for_everybody
    def sign_in() -> tuple[str, int] | Response:
        wanted = request.args.get("language")
        if wanted in LANGUAGES:
            session["language"] = g.language = wanted
        if g.account is not None:
            return desk.go(HOME)
        return desk.page("sign_in.html", next=own_page(request.values.get("next", "")))

    @pages.post("/sign-in")
    @for_everybody
    @or_again(sign_in)
    def enter() -> Response:
        form, language = request.form, session.get("language")
        name, password = form.get("name", ""), form.get("password", "")
        sitting.begin(jobs.signing_in.sign_in(name, password, desk.now()), desk.now())
        if language:
            session["language"] = language
        onward = own_page(form.get("next", ""))
        return Response(status=303, headers={"Location": onward}) if onward else desk.go(HOME)

    @pages.post("/sign-out")
    @signed_in()
    def sign_out() -> Response:
        sitting.end()
        desk.notice(say("You have signed out."))
        return desk.go("desk.sign_in.sign_in")

    @pages.get("/")
    @signed_in()
    def home() -> tuple[str, int]:
        return desk.page("home.html")

    _own_pages(desk, pages)
    return pages


def _own_pages(desk: DeskPages, pages: Blueprint) -> None:
    jobs = desk.jobs

    @pages.get("/own")
    @signed_in()
    def own() -> tuple[str, int]:
        return desk.page("own.html")

    @pages.post("/own/language")
    @signed_in()
    @or_again(own)
    def own_language() -> Response:
        wanted = request.form.get("language", "")
        jobs.accounts.set_language(desk.account, wanted, desk.now())
        g.language = wanted
        desk.notice(say("The language of your pages is changed."))
        return desk.go(OWN)

    @pages.post("/own/password")
    @signed_in()
    @or_again(own)
    def own_password() -> Response:
        old, new = request.form.get("old_password", ""), request.form.get("new_password", "")
        changed = jobs.accounts.new_password(desk.account, old, new, desk.now())
        sitting.renew(changed.epoch)
        desk.notice(say("Your password is changed. Other browsers must sign in again."))
        return desk.go(OWN)

    @pages.post("/own/end-all")
    @signed_in()
    @or_again(own)
    def own_end_all() -> Response:
        jobs.signing_in.end_all(desk.account, desk.now())
        sitting.end()
        desk.notice(say("You have signed out in every browser."))
        return desk.go("desk.sign_in.sign_in")


def own_page(address: str) -> str:
    """Return an address when it is one of the desk's own, else nothing."""
    fine = address.startswith("/desk/") and not set(address) & set("\\\r\n\t")
    return address if fine and "//" not in address else ""
