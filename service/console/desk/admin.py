"""The pages of the admin: accounts here; tables, prices, log and gateway beside it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.console.desk.access import or_again, signed_in
from service.console.desk.admin_prices import price_pages
from service.console.desk.admin_tables import table_pages
from service.console.desk.admin_watch import watch_pages
from service.console.desk.frame import DeskPages
from service.console.desk.menu import Entry
from service.desk.refusals import DeskRefused, unknown
from service.phrases import say
from service.records import ROLES, Account, Role

LIST, ONE = "desk.admin.accounts", "desk.admin.account"


def admin_pages(desk: DeskPages) -> Blueprint:
    """Return the pages of the admin."""
    pages = Blueprint("admin", __name__, url_prefix="/office")
    desk.add_to_menu(
        [
            # Translators: a page of the menu: who may sign in.
            Entry(
                LIST,
                say("Accounts"),
                say("Who may sign in, in which roles and districts."),
                "admin",
            ),
        ]
    )
    _accounts(desk, pages)
    _one_account(desk, pages)
    price_pages(desk, pages)
    table_pages(desk, pages)
    watch_pages(desk, pages)
    return pages


def _accounts(desk: DeskPages, pages: Blueprint) -> None:
    jobs = desk.jobs

    @pages.get("/accounts")
    @signed_in("admin")
    def accounts() -> tuple[str, int]:
        found = jobs.accounts.all(desk.account)
        return desk.page("admin_accounts.html", accounts=found, locked=_locked(desk.now()))

    @pages.get("/accounts/new")
    @signed_in("admin")
    def new_account() -> tuple[str, int]:
        return desk.page("admin_new_account.html", districts=_districts(desk))

    @pages.post("/accounts/new")
    @signed_in("admin")
    @or_again(new_account)
    def make_account() -> tuple[str, int]:
        form = request.form
        password = form.get("password", "") or desk.new_password()
        made = jobs.accounts.create(
            desk.account,
            form.get("name", ""),
            _roles(),
            password,
            desk.now(),
            language=form.get("language", desk.language),
            phone=form.get("phone", ""),
            districts=_chosen_districts(desk),
        )
        told = "" if form.get("password") else password
        return desk.page("admin_password.html", one=made, password=told)


def _one_account(desk: DeskPages, pages: Blueprint) -> None:
    jobs = desk.jobs

    @pages.get("/accounts/<account_id>")
    @signed_in("admin")
    def account(account_id: str) -> tuple[str, int]:
        one = _found(desk, account_id)
        return desk.page(
            "admin_account.html", one=one, districts=_districts(desk), locked=_locked(desk.now())
        )

    @pages.post("/accounts/<account_id>")
    @signed_in("admin")
    @or_again(account)
    def change_account(account_id: str) -> Response:
        jobs.accounts.change(
            desk.account,
            account_id,
            desk.now(),
            roles=_roles(),
            districts=_chosen_districts(desk),
            phone=request.form.get("phone", ""),
        )
        desk.notice(say("The account is changed."))
        return desk.go(ONE, account_id=account_id)

    @pages.post("/accounts/<account_id>/password")
    @signed_in("admin")
    @or_again(account)
    def reset_password(account_id: str) -> tuple[str, int]:
        given = request.form.get("password", "")
        password = given or desk.new_password()
        one = jobs.accounts.reset_password(desk.account, account_id, password, desk.now())
        return desk.page("admin_password.html", one=one, password="" if given else password)

    @pages.post("/accounts/<account_id>/unlock")
    @signed_in("admin")
    @or_again(account)
    def unlock(account_id: str) -> Response:
        jobs.accounts.unlock(desk.account, account_id, desk.now())
        desk.notice(say("The account may try again."))
        return desk.go(ONE, account_id=account_id)

    @pages.post("/accounts/<account_id>/switch")
    @signed_in("admin")
    @or_again(account)
    def switch(account_id: str) -> Response:
        active = request.form.get("to") == "on"
        jobs.accounts.set_active(desk.account, account_id, desk.now(), active=active)
        desk.notice(say("The account is on.") if active else say("The account is off."))
        return desk.go(ONE, account_id=account_id)


def _found(desk: DeskPages, account_id: str) -> Account:
    for one in desk.jobs.accounts.all(desk.account):
        if one.id == account_id:
            return one
    raise unknown()


def _roles() -> tuple[Role, ...]:
    ticked = request.form.getlist("roles")
    return tuple(role for role in ROLES if role in ticked)


def _districts(desk: DeskPages) -> list[tuple[str, str]]:
    return [(key, one.name) for key, one in desk.tables.districts.items()]


def _chosen_districts(desk: DeskPages) -> tuple[str, ...]:
    chosen = tuple(request.form.getlist("districts"))
    if set(chosen) - set(desk.tables.districts):
        raise DeskRefused(say("Choose districts of the list."))
    return chosen


def _locked(now: datetime) -> Callable[[Account], bool]:
    return lambda one: one.locked_until is not None and one.locked_until > now
