"""The admin's page of prices: the list in use, and another one looked at before it is kept."""

from __future__ import annotations

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.console.desk.access import or_again, signed_in, takes_files
from service.console.desk.frame import DeskPages
from service.console.desk.menu import Entry
from service.desk.csv_cells import csv_text, decoded
from service.desk.refusals import DeskRefused
from service.errors import TextFileError
from service.phrases import say
from service.sizing.parts_rules import known_items, unit_of
from service.sizing.prices import COLUMNS_WITH_UNIT, PriceList

PRICES = "desk.admin.prices"
MOST_OCTETS = 256 * 1024


def price_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the pages of prices."""
    desk.add_to_menu(
        [
            # Translators: a page of the menu: what parts cost.
            Entry(
                PRICES,
                say("Prices"),
                say("What parts cost; load a list of your own shops."),
                "admin",
            ),
        ]
    )

    @pages.get("/prices")
    @signed_in("admin")
    def prices() -> tuple[str, int]:
        return desk.page("admin_prices.html", prices=desk.prices, unit_of=unit_of)

    @pages.get("/prices.csv")
    @signed_in("admin")
    def price_list() -> Response:
        return Response(
            _as_csv(desk.prices.in_use),
            mimetype="text/csv",
            headers={"Content-Disposition": "attachment; filename=prices.csv"},
        )

    @pages.post("/prices/look")
    @signed_in("admin")
    @takes_files(MOST_OCTETS)
    @or_again(prices)
    def look_at_prices() -> tuple[str, int]:
        text = _sent_text()
        try:
            found = desk.prices.check(text)
        except TextFileError as error:
            return desk.page("admin_bad_prices.html", 422, problems=error.problems, text=text)
        return desk.page(
            "admin_new_prices.html", rows=_changes(desk.prices.in_use, found), text=text,
            currency=found.currency, missing=sorted(set(known_items()) - set(found.by_item)),
        )  # fmt: skip

    @pages.post("/prices")
    @signed_in("admin")
    @takes_files(MOST_OCTETS)
    @or_again(prices)
    def keep_prices() -> Response:
        try:
            # Forms send CR LF whatever the file had.
            text = "\n".join(request.form.get("text", "").splitlines()) + "\n"
            desk.prices.keep(desk.account, text, desk.now())
        except TextFileError as error:
            raise DeskRefused(say("The list has bad rows: look at it again.")) from error
        desk.notice(say("The prices are kept: in use from the next start of the service on."))
        return desk.go(PRICES)


def _sent_text() -> str:
    file, typed_in = request.files.get("file"), request.form.get("text", "")
    if file is None or not file.filename:
        if typed_in.strip():
            return typed_in
        raise DeskRefused(say("Choose a file first."))
    try:
        return decoded(file.read())
    except UnicodeDecodeError as error:
        raise DeskRefused(say("This file is not UTF-8 text: save it as CSV in UTF-8.")) from error


def _as_csv(prices: PriceList | None) -> str:
    if prices is None:
        return csv_text(COLUMNS_WITH_UNIT, [])
    rows = [
        (item, f"{price:.2f}", prices.currency, unit_of(item))
        for item, price in prices.by_item.items()
    ]
    return csv_text(COLUMNS_WITH_UNIT, rows)


def _changes(
    old: PriceList | None, new: PriceList
) -> list[tuple[str, float | None, float, float | None]]:
    """Part, price before, price now, and the change [%] where both are in one currency."""
    same = old is not None and old.currency == new.currency
    rows = []
    for item, price in new.by_item.items():
        before = old.price(item) if old is not None and same else None
        change = 100.0 * (price / before - 1.0) if before else None
        rows.append((item, before, price, change))
    return rows
