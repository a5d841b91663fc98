"""What is kept about a farmer, given out or erased on their request: an admin's job."""

from __future__ import annotations

from flask import Blueprint, request, session
from werkzeug.wrappers import Response

from service.console.desk.access import or_again, signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.operator_callers import FIND as FOUND
from service.console.desk.operator_callers import names
from service.desk.callers import CallerView
from service.desk.refusals import DeskRefused
from service.phrases import say

FIND = "desk.operator.find"


def privacy_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add giving out and erasing."""
    privacy_job = desk.jobs.privacy

    @pages.get("/callers/<phone_id>/kept")
    @signed_in("admin")
    def privacy(phone_id: str) -> tuple[str, int]:
        view = desk.jobs.callers.see(desk.account, phone_id, desk.now())
        return desk.page("operator_privacy.html", view=view, **names(desk, view.phone.language))

    @pages.post("/callers/<phone_id>/kept/export")
    @signed_in("admin")
    @or_again(privacy)
    def export(phone_id: str) -> Response:
        text = privacy_job.export(desk.account, phone_id, desk.now())
        return Response(
            text,
            mimetype="application/json",
            headers={"Content-Disposition": 'attachment; filename="what-is-kept.json"'},
        )

    @pages.post("/callers/<phone_id>/kept/erase")
    @signed_in("admin")
    @or_again(privacy)
    def erase(phone_id: str) -> Response:
        view = desk.jobs.callers.see(desk.account, phone_id, desk.now())
        if _bare(request.form.get("number", "")) != _bare(_shown_number(view)):
            raise DeskRefused(
                say("Nothing was erased: that is not the whole number of this caller.")
            )
        rows = privacy_job.erase(desk.account, phone_id, request.form.get("why", ""), desk.now())
        session.pop(FOUND, None)
        desk.notice(say("Erased: {rows} rows. It cannot be had back.", rows=rows))
        return desk.go(FIND)


def _shown_number(view: CallerView) -> str:
    """Return the number as it stands on the caller's page: visitors of the trial page have none."""
    return view.phone.number if view.phone.number.startswith("+") else view.masked


def _bare(number: str) -> str:
    """Return a number without what people put between its digits."""
    return "".join(letter for letter in number if letter not in " -()/.\u00a0").casefold()
