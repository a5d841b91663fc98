"""Plots to visit with the reasons, and faults that come in a cluster."""

from __future__ import annotations

from flask import Blueprint
from werkzeug.wrappers import Response

from service.console.desk.access import signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.officer_common import asked_for, district_choices, names
from service.console.desk.officer_farmers import csv_file
from service.desk.csv_cells import csv_text
from service.desk.risk import Visit
from service.records import masked

SHOWN = 60


def visit_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the list of visits, on the page and as CSV for the road."""
    visits = desk.jobs.visits

    @pages.get("/visits")
    @signed_in("officer")
    def visit_list() -> tuple[str, int]:
        audience, asked = asked_for(desk)
        found = visits.to_visit(desk.account, audience, desk.now(), SHOWN)
        return desk.page(
            "officer_visits.html",
            visits=[(one, masked(one.farmer.phone.number)) for one in found],
            most=SHOWN,
            clusters=visits.clusters(desk.account, desk.now()),
            asked=asked,
            choices=district_choices(desk),
            groups=[(line.id, line.name) for line in desk.jobs.roster.groups(desk.account)],
            **names(desk),
        )

    @pages.get("/visits.csv")
    @signed_in("officer")
    def visit_export() -> Response:
        audience, _ = asked_for(desk)
        found = visits.to_visit(desk.account, audience, desk.now())
        header = ("urgency", "name", "number", "plot", "district", "crop", "why")
        return csv_file(csv_text(header, [_row(desk, one) for one in found]), "visits.csv")


def _row(desk: DeskPages, visit: Visit) -> tuple[object, ...]:
    person, plot = visit.farmer.person, visit.farmer.plot
    district = desk.tables.districts.get(plot.district)
    return (
        round(visit.score),
        person.name if person else "",
        masked(visit.farmer.phone.number),
        plot.name,
        district.name if district else plot.district,
        plot.crop,
        " ".join(desk.tell(reason.words) for reason in visit.reasons),
    )
