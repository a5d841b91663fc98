"""The queue of matters for a person, missed calls, and texts that nearly say stop."""

from __future__ import annotations

from collections.abc import Sequence

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.console.desk.access import View, or_again, signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.operator_callers import CALLER, caller_page, names
from service.desk.refusals import Clash, DeskRefused
from service.desk.tickets import ASK_AFTER_DAYS, LONGEST_ASK_DAYS, QueueLine
from service.phrases import say
from service.records import TicketKind

TICKET, QUEUE, REVIEWS = "desk.operator.ticket", "desk.operator.queue", "desk.operator.reviews"


def ticket_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the queue, the page of one ticket, missed calls, and near stops."""
    _queue(desk, pages)
    _ticket(desk, pages)
    _by_hand(desk, pages)
    _reviews(desk, pages)


def _queue(desk: DeskPages, pages: Blueprint) -> None:
    tickets = desk.jobs.tickets

    @pages.get("/tickets")
    @signed_in("operator", "officer")
    def queue() -> tuple[str, int]:
        return _lines(desk, tickets.queue(desk.account, desk.now()), missed=False)

    @pages.get("/missed-calls")
    @signed_in("operator", "officer")
    def missed_calls() -> tuple[str, int]:
        return _lines(desk, tickets.missed_calls(desk.account, desk.now()), missed=True)

    @pages.post("/tickets/next")
    @signed_in("operator", "officer")
    def take_next() -> Response:
        """Take the first ticket that nobody has; of two who press at once each gets another."""
        kinds: tuple[TicketKind, ...] = ("missed_call",) if request.form.get("missed") else ()
        for line in tickets.queue(desk.account, desk.now(), kinds):
            if line.ticket.state != "open":
                continue
            try:
                tickets.claim(desk.account, line.ticket.id, desk.now())
            except Clash:
                continue
            return desk.go(TICKET, ticket_id=line.ticket.id)
        desk.notice(say("Nothing waits that nobody has taken."))
        return desk.go("desk.operator.missed_calls" if kinds else QUEUE)


def _lines(desk: DeskPages, lines: Sequence[QueueLine], *, missed: bool) -> tuple[str, int]:
    return desk.page(
        "operator_queue.html",
        lines=lines,
        missed=missed,
        free=any(line.ticket.state == "open" for line in lines),
        **names(desk, None),
    )


def _ticket(desk: DeskPages, pages: Blueprint) -> None:
    tickets = desk.jobs.tickets

    @pages.get("/tickets/<ticket_id>")
    @signed_in("operator", "officer")
    def ticket(ticket_id: str) -> tuple[str, int]:
        view = tickets.see(desk.account, ticket_id, desk.now())
        return desk.page(
            "operator_ticket.html",
            view=view,
            ticket=view.line.ticket,
            first_words=desk.jobs.walking.first_words(view.line.ticket.danger),
            usual_days=ASK_AFTER_DAYS,
            most_days=LONGEST_ASK_DAYS,
            form_flows=desk.jobs.forms.flows,
            mine=view.line.ticket.claimed_by == desk.account.id,
            **names(desk, None),
        )

    @pages.post("/tickets/<ticket_id>/claim")
    @signed_in("operator", "officer")
    @or_again(ticket)
    def claim(ticket_id: str) -> Response:
        tickets.claim(desk.account, ticket_id, desk.now())
        desk.notice(say("The ticket is yours."))
        return desk.go(TICKET, ticket_id=ticket_id)

    @pages.post("/tickets/<ticket_id>/give-back")
    @signed_in("operator", "officer")
    @or_again(ticket)
    def give_back(ticket_id: str) -> Response:
        tickets.give_back(desk.account, ticket_id, desk.now())
        desk.notice(say("The ticket waits for anybody again."))
        return desk.go(QUEUE)

    _endings(desk, pages, ticket)


def _endings(desk: DeskPages, pages: Blueprint, ticket: View) -> None:
    tickets = desk.jobs.tickets

    @pages.post("/tickets/<ticket_id>/note")
    @signed_in("operator", "officer")
    @or_again(ticket)
    def note(ticket_id: str) -> Response:
        tickets.note(desk.account, ticket_id, request.form.get("text", ""), desk.now())
        desk.notice(say("The note is kept."))
        return desk.go(TICKET, ticket_id=ticket_id)

    @pages.post("/tickets/<ticket_id>/close")
    @signed_in("operator", "officer")
    @or_again(ticket)
    def close(ticket_id: str) -> Response:
        outcome, days = request.form.get("outcome", ""), _days(request.form.get("days", ""))
        tickets.close(desk.account, ticket_id, outcome, desk.now(), ask_after_days=days)
        desk.notice(say("The ticket is closed."))
        return desk.go(QUEUE)

    @pages.post("/tickets/<ticket_id>/reopen")
    @signed_in("operator", "officer")
    @or_again(ticket)
    def reopen(ticket_id: str) -> Response:
        tickets.reopen(desk.account, ticket_id, desk.now())
        desk.notice(say("The ticket is open again, for anybody to take."))
        return desk.go(TICKET, ticket_id=ticket_id)


def _days(text: str) -> int | None:
    """Return after how many days to ask; None for not at all, which is an empty field."""
    if not text.strip():
        return None
    try:
        return int(text)
    except ValueError:
        raise DeskRefused(
            say("Ask after 1 to {most} days, or not at all.", most=LONGEST_ASK_DAYS)
        ) from None


def _by_hand(desk: DeskPages, pages: Blueprint) -> None:
    tickets = desk.jobs.tickets

    def again(phone_id: str) -> tuple[str, int]:
        return caller_page(desk, phone_id)

    @pages.post("/callers/<phone_id>/tickets")
    @signed_in("operator", "officer")
    @or_again(again)
    def open_ticket(phone_id: str) -> Response:
        matter = request.form.get("matter", "")
        opened = tickets.open(desk.account, phone_id, matter, desk.now())
        desk.notice(say("The ticket is open."))
        return desk.go(TICKET, ticket_id=opened.id)

    @pages.post("/callers/<phone_id>/missed-call")
    @signed_in("operator", "officer")
    @or_again(again)
    def note_missed_call(phone_id: str) -> Response:
        new = tickets.note_missed_call(desk.account, phone_id, desk.now())
        desk.notice(
            say("The missed call is kept.") if new else say("That missed call is known already.")
        )
        return desk.go(CALLER, phone_id=phone_id)


def _reviews(desk: DeskPages, pages: Blueprint) -> None:
    tickets = desk.jobs.tickets

    @pages.get("/near-stops")
    @signed_in("operator")
    def reviews() -> tuple[str, int]:
        found = tickets.reviews(desk.account, desk.now())
        return desk.page("operator_reviews.html", found=found, **names(desk, None))

    @pages.post("/near-stops/<review_id>")
    @signed_in("operator")
    @or_again(lambda review_id: reviews())
    def settle_review(review_id: str) -> Response:
        meant = request.form.get("meant")
        if meant not in ("stop", "other"):
            raise DeskRefused(say("Say whether the caller meant stop."))
        tickets.settle_review(desk.account, review_id, desk.now(), stop=meant == "stop")
        desk.notice(
            say("It is in the ledger: no more reminders to this caller.")
            if meant == "stop"
            else say("Kept as no stop: reminders go on.")
        )
        return desk.go(REVIEWS)
