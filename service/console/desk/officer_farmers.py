"""Districts and groups with their counts, and the farmers of each."""

from __future__ import annotations

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.console.desk.access import signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.officer_common import asked_for, district_choices, names
from service.records import Audience


def farmer_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the lists."""
    roster = desk.jobs.roster

    @pages.get("/farmers")
    @signed_in("officer")
    def farmers() -> tuple[str, int]:
        counted = {line.key: line.plots for line in roster.districts(desk.account)}
        known = dict(district_choices(desk))
        lines = [(key, name, counted.pop(key, 0)) for key, name in known.items()]
        lines += [(key, key, plots) for key, plots in counted.items()]
        groups = roster.groups(desk.account)
        return desk.page("officer_farmers.html", lines=lines, groups=groups)

    @pages.get("/farmers/list")
    @signed_in("officer")
    def farmer_list() -> tuple[str, int]:
        audience, asked = asked_for(desk)
        after = request.args.get("after", "")
        found = roster.farmers(desk.account, audience, desk.now(), after)
        return desk.page(
            "officer_farmer_list.html", found=found, asked=asked, after=after, **names(desk)
        )

    @pages.get("/farmers/list.csv")
    @signed_in("officer")
    def farmer_export() -> Response:
        audience, _ = asked_for(desk)
        if not audience.districts and desk.account.districts:
            audience = Audience(districts=desk.account.districts, groups=audience.groups)
        text = desk.jobs.exports.farmers(desk.account, audience, desk.now())
        return csv_file(text, "farmers.csv")


def csv_file(text: str, name: str) -> Response:
    """Return a CSV to keep; the mark at its start tells spreadsheets that it is UTF-8."""
    return Response(
        "\ufeff" + text,
        mimetype="text/csv",
        headers={"Content-Disposition": f"attachment; filename={name}"},
    )
