"""Seasonal messages on their way: started, watched, paused, resumed, cancelled; the results."""

from __future__ import annotations

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.console.desk.access import or_again, signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.officer_farmers import csv_file
from service.console.desk.officer_seasonal import ONE, message_page, moment, progress_values
from service.desk.refusals import DeskRefused
from service.phrases import say, say_n


def run_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add what is done with a message that was approved."""
    _steering(desk, pages)
    _watching(desk, pages)


def _steering(desk: DeskPages, pages: Blueprint) -> None:
    runs = desk.jobs.runs

    def again(seasonal_id: str) -> tuple[str, int]:
        return message_page(desk, seasonal_id)

    @pages.post("/seasonal/<seasonal_id>/start")
    @signed_in("officer")
    @or_again(again)
    def start_seasonal(seasonal_id: str) -> Response:
        runs.progress(desk.account, seasonal_id)
        at = None
        if request.form.get("when") == "later":
            at = moment(desk, request.form.get("starts_at", ""))
            if at is None:
                raise DeskRefused(say("Say at which moment it begins."))
        # A moment that was thought of while writing does not hold back what starts now.
        runs.start(desk.account, seasonal_id, desk.now(), at or desk.now())
        desk.notice(say("Started.") if at is None else say("It begins at that moment."))
        return desk.go(ONE, seasonal_id=seasonal_id)

    @pages.post("/seasonal/<seasonal_id>/pause")
    @signed_in("officer")
    @or_again(again)
    def pause_seasonal(seasonal_id: str) -> Response:
        runs.pause(desk.account, seasonal_id, desk.now())
        desk.notice(say("Paused: what waits to be sent stays here until it is resumed."))
        return desk.go(ONE, seasonal_id=seasonal_id)

    @pages.post("/seasonal/<seasonal_id>/resume")
    @signed_in("officer")
    @or_again(again)
    def resume_seasonal(seasonal_id: str) -> Response:
        runs.resume(desk.account, seasonal_id, desk.now())
        desk.notice(say("It goes on."))
        return desk.go(ONE, seasonal_id=seasonal_id)

    @pages.post("/seasonal/<seasonal_id>/cancel")
    @signed_in("officer")
    @or_again(again)
    def cancel_seasonal(seasonal_id: str) -> Response:
        if "yes" not in request.form.getlist("sure"):
            raise DeskRefused(say("Tick that you are sure: a cancelled message never goes on."))
        taken = runs.cancel(desk.account, seasonal_id, desk.now())
        desk.notice(
            say_n(
                "Cancelled. {n} text was still taken back.",
                "Cancelled. {n} texts were still taken back.",
                count="n",
                n=taken,
            )
        )
        return desk.go(ONE, seasonal_id=seasonal_id)


def _watching(desk: DeskPages, pages: Blueprint) -> None:
    @pages.get("/seasonal/<seasonal_id>/progress")
    @signed_in("officer")
    def seasonal_progress(seasonal_id: str) -> tuple[str, int]:
        """Return only how far it has come, for the script that puts it into the page."""
        values = progress_values(desk, seasonal_id)
        return desk.page("officer_progress.html", **values)

    @pages.get("/seasonal/<seasonal_id>/results.csv")
    @signed_in("officer")
    def seasonal_results(seasonal_id: str) -> Response:
        text = desk.jobs.runs.export(desk.account, seasonal_id, desk.now())
        return csv_file(text, "seasonal-results.csv")
