"""People and plots of one phone, its language, and the ledger of consents."""

from __future__ import annotations

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.console.desk.access import View, or_again, signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.operator_callers import CALLER, caller_page
from service.desk.people import How
from service.desk.refusals import DeskRefused
from service.phrases import say

HOWS: tuple[How, ...] = ("call", "visit", "paper")


def people_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add what is changed from the caller's page."""

    def again(phone_id: str, **ids: str) -> tuple[str, int]:
        return caller_page(desk, phone_id)

    _people(desk, pages, again)
    _plots(desk, pages, again)
    _wishes(desk, pages, again)


def _people(desk: DeskPages, pages: Blueprint, again: View) -> None:
    people = desk.jobs.people

    @pages.post("/callers/<phone_id>/people")
    @signed_in("operator", "officer")
    @or_again(again)
    def add_person(phone_id: str) -> Response:
        form = request.form
        people.add_person(
            desk.account, phone_id, form.get("new_name", ""), desk.now(),
            groups=_groups(form.get("new_groups", "")),
        )  # fmt: skip
        desk.notice(say("The person is kept."))
        return desk.go(CALLER, phone_id=phone_id)

    @pages.post("/callers/<phone_id>/people/<person_id>")
    @signed_in("operator", "officer")
    @or_again(again)
    def change_person(phone_id: str, person_id: str) -> Response:
        form = request.form
        people.change_person(
            desk.account, person_id, desk.now(),
            name=form.get(f"name-{person_id}", ""),
            groups=_groups(form.get(f"groups-{person_id}", "")),
            note=form.get(f"note-{person_id}", ""),
        )  # fmt: skip
        desk.notice(say("The change is kept."))
        return desk.go(CALLER, phone_id=phone_id)


def _plots(desk: DeskPages, pages: Blueprint, again: View) -> None:
    people = desk.jobs.people

    @pages.post("/callers/<phone_id>/plots")
    @signed_in("operator", "officer")
    @or_again(again)
    def add_plot(phone_id: str) -> Response:
        form = request.form
        people.add_plot(
            desk.account, phone_id, form.get("plot_name", ""), desk.now(),
            person_id=form.get("plot_person") or None, district=form.get("plot_district", ""),
        )  # fmt: skip
        desk.notice(say("The plot is kept. New conversations are about it."))
        return desk.go(CALLER, phone_id=phone_id)

    @pages.post("/callers/<phone_id>/plots/<plot_id>/name")
    @signed_in("operator", "officer")
    @or_again(again)
    def change_plot(phone_id: str, plot_id: str) -> Response:
        form = request.form
        people.change_plot(
            desk.account, plot_id, desk.now(),
            name=form.get(f"plot-{plot_id}", ""), person_id=form.get(f"whose-{plot_id}") or None,
        )  # fmt: skip
        desk.notice(say("The change is kept."))
        return desk.go(CALLER, phone_id=phone_id)

    @pages.post("/callers/<phone_id>/plots/<plot_id>/turn-to")
    @signed_in("operator", "officer")
    @or_again(again)
    def turn_to(phone_id: str, plot_id: str) -> Response:
        people.turn_to(desk.account, plot_id, desk.now())
        desk.notice(say("New conversations are about this plot now."))
        return desk.go(CALLER, phone_id=phone_id)


def _wishes(desk: DeskPages, pages: Blueprint, again: View) -> None:
    people = desk.jobs.people

    @pages.post("/callers/<phone_id>/language")
    @signed_in("operator", "officer")
    @or_again(again)
    def set_language(phone_id: str) -> Response:
        wanted = request.form.get("language", "")
        people.set_language(desk.account, phone_id, wanted, desk.now())
        desk.notice(say("The caller is answered in that language now."))
        return desk.go(CALLER, phone_id=phone_id)

    @pages.post("/callers/<phone_id>/consent")
    @signed_in("operator", "officer")
    @or_again(again)
    def record_consent(phone_id: str) -> Response:
        form = request.form
        given, how = form.get("given"), form.get("how")
        if given not in ("yes", "no") or how not in HOWS:
            raise DeskRefused(say("Choose yes or no, and how it was told."))
        people.record_consent(
            desk.account, phone_id, form.get("said", ""), how, desk.now(),
            given=given == "yes",
        )  # fmt: skip
        desk.notice(say("It is in the ledger."))
        return desk.go(CALLER, phone_id=phone_id)


def _groups(text: str) -> tuple[str, ...]:
    return tuple(part for part in text.split(",") if part.strip())
