"""The pages of the field officer: farmers, rain, what goes out, visits, enrolling."""

from __future__ import annotations

from flask import Blueprint

from service.console.desk.frame import DeskPages
from service.console.desk.menu import Entry
from service.console.desk.officer_enrol import enrol_pages
from service.console.desk.officer_farmers import farmer_pages
from service.console.desk.officer_import import import_pages
from service.console.desk.officer_rain import rain_pages
from service.console.desk.officer_runs import run_pages
from service.console.desk.officer_seasonal import seasonal_pages
from service.console.desk.officer_visits import visit_pages
from service.phrases import say


def officer_pages(desk: DeskPages) -> Blueprint:
    """Return the pages of the field officer."""
    pages = Blueprint("officer", __name__, url_prefix="/field")
    desk.add_to_menu(_menu())
    for add in (
        farmer_pages,
        import_pages,
        visit_pages,
        rain_pages,
        seasonal_pages,
        run_pages,
        enrol_pages,
    ):
        add(desk, pages)
    return pages


def _menu() -> tuple[Entry, ...]:
    return (
        Entry(
            "desk.officer.farmers",
            say("Farmers"),
            say("Districts and groups, who is in them, and lists to take in or out."),
            "officer",
        ),
        Entry(
            "desk.officer.visit_list",
            # Translators: a page of the menu: which plots to go to.
            say("Visits"),
            say("Plots that need a visit, the most urgent first, with the reasons."),
            "officer",
        ),
        Entry(
            "desk.officer.rain",
            # Translators: a page of the menu: rain as measured in the districts.
            say("Rain"),
            say("Report the rain of a district; the water advice there follows it."),
            "officer",
        ),
        Entry(
            "desk.officer.seasonal",
            say("Seasonal messages"),
            say("Write to many farmers at once, with each one's own numbers."),
            "officer",
        ),
        Entry(
            "desk.officer.calendar",
            # Translators: a page of the menu: which texts leave on which day.
            say("Going out"),
            say("What leaves on the coming days: weekly texts and seasonal messages."),
            "officer",
        ),
        Entry(
            "desk.officer.enrol",
            # Translators: a page of the menu: take in a new farmer and plot.
            say("Enrol"),
            say("Print the paper form, type one in, and hand a new plot over."),
            "officer",
        ),
    )
