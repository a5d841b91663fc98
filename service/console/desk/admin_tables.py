"""The admin's tables of pipes, crops and districts: what is reckoned with, and where it is from."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from io import StringIO

from flask import Blueprint

from service.console.desk.access import signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.menu import Entry
from service.desk.refusals import unknown
from service.phrases import say
from service.sizing.tables import table_text


def table_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the pages of tables."""
    desk.add_to_menu(
        [
            # Translators: a page of the menu: tables of pipes, crops and districts.
            Entry(
                "desk.admin.tables",
                say("Tables"),
                say("Pipes, crops and districts that plans reckon with, and their sources."),
                "admin",
            ),
        ]
    )

    @pages.get("/tables")
    @signed_in("admin")
    def tables() -> tuple[str, int]:
        return desk.page(
            "admin_tables.html", pipes=_rows("pipes.csv"), crops=_rows("crops.csv"),
            districts=desk.tables.districts.values(),
        )  # fmt: skip

    @pages.get("/tables/crops/<key>")
    @signed_in("admin")
    def crop(key: str) -> tuple[str, int]:
        found = next((row for row in _rows("crops.csv") if row["key"] == key), None)
        if found is None:
            raise unknown()
        seasons = [row for row in _rows("crop_stages.csv") if row["crop"] == key]
        return desk.page("admin_crop.html", crop=found, seasons=seasons)

    @pages.get("/tables/districts/<key>")
    @signed_in("admin")
    def district(key: str) -> tuple[str, int]:
        if key not in desk.tables.districts:
            raise unknown()
        return desk.page("admin_district.html", one=desk.tables.districts[key])


@cache
def _rows(name: str) -> tuple[Mapping[str, str], ...]:
    lines = (line for line in table_text(name).splitlines() if not line.startswith("#"))
    return tuple(csv.DictReader(StringIO("\n".join(lines))))
