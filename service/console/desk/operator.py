"""The pages of the operator: callers, conversations, plots, tickets."""

from __future__ import annotations

from flask import Blueprint

from service.console.desk.frame import DeskPages
from service.console.desk.menu import Entry
from service.console.desk.operator_callers import caller_pages
from service.console.desk.operator_dose import dose_pages
from service.console.desk.operator_forms import form_pages
from service.console.desk.operator_people import people_pages
from service.console.desk.operator_privacy import privacy_pages
from service.console.desk.operator_sheet import sheet_pages
from service.console.desk.operator_tickets import ticket_pages
from service.console.desk.operator_walking import walking_pages
from service.phrases import say


def operator_pages(desk: DeskPages) -> Blueprint:
    """Return the pages of the operator."""
    pages = Blueprint("operator", __name__, url_prefix="/helpline")
    desk.add_to_menu(_menu())
    for add in (
        caller_pages,
        people_pages,
        walking_pages,
        form_pages,
        sheet_pages,
        dose_pages,
        ticket_pages,
        privacy_pages,
    ):
        add(desk, pages)
    return pages


def _menu() -> tuple[Entry, ...]:
    return (
        Entry(
            "desk.operator.find",
            say("Find a caller"),
            say("By number or name: their plots, messages, tickets and conversations."),
            "operator",
        ),
        Entry(
            "desk.operator.queue",
            # Translators: matters that wait for a person at the helpline.
            say("Tickets"),
            say("What waits for a person: dangers first, then who has waited longest."),
            "operator",
        ),
        Entry(
            "desk.operator.missed_calls",
            say("Missed calls"),
            say("Who rang and was not heard."),
            "operator",
        ),
        Entry(
            "desk.operator.reviews",
            say("Did they mean stop?"),
            say("Texts that nearly say stop: decide what was meant."),
            "operator",
        ),
    )
