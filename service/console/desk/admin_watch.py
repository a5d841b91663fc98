"""What an admin watches: the log of what was seen and changed, and how sending stands."""

from __future__ import annotations

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.console.desk.access import or_again, signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.menu import Entry
from service.console.desk.watch_words import state_words
from service.phrases import say

GATEWAY = "desk.admin.gateway"
LINES, MORE_LINES = 100, 1000


def watch_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the log and the state of the gateway."""
    desk.add_to_menu(
        [
            # Translators: a page of the menu: how sending messages stands.
            Entry(
                GATEWAY,
                say("Sending"),
                say("How messages leave; those that were given up."),
                "admin",
            ),
            # Translators: a page of the menu: who saw or changed what.
            Entry("desk.admin.log", say("Log"), say("Who saw or changed what, and when."), "admin"),
        ]
    )
    _log(desk, pages)
    _gateway(desk, pages)


def _log(desk: DeskPages, pages: Blueprint) -> None:
    @pages.get("/log")
    @signed_in("admin")
    def log() -> tuple[str, int]:
        names = {one.id: one.name for one in desk.jobs.accounts.all(desk.account)}
        who, about = request.args.get("account", ""), request.args.get("about", "")
        most = MORE_LINES if request.args.get("more") else LINES
        lines = desk.jobs.accounts.lines(desk.account, account_id=who, subject_id=about, limit=most)
        full = len(lines) == LINES
        return desk.page(
            "admin_log.html", lines=lines, names=names, who=who, about=about, full=full
        )


def _gateway(desk: DeskPages, pages: Blueprint) -> None:
    state = desk.jobs.gateway

    @pages.get("/sending")
    @signed_in("operator")
    def gateway() -> tuple[str, int]:
        counts = state.counts(desk.account)
        given_up = state.given_up(desk.account, desk.now())
        return desk.page(
            "admin_gateway.html", counts=counts, given_up=given_up, words=state_words()
        )

    @pages.post("/sending/<message_id>/again")
    @signed_in("operator")
    @or_again(gateway_again := lambda message_id: gateway())
    def send_again(message_id: str) -> Response:
        sent = state.resend(desk.account, message_id, desk.now())
        desk.notice(say("It is sent again.") if sent else say("It was sent again already."))
        return desk.go(GATEWAY)

    @pages.post("/sending/<message_id>/let-go")
    @signed_in("operator")
    @or_again(gateway_again)
    def let_go(message_id: str) -> Response:
        state.let_go(desk.account, message_id, desk.now())
        desk.notice(say("It is not sent again."))
        return desk.go(GATEWAY)
