"""Taking in a list of farmers: looked at first, with every bad row; then kept whole, or not."""

from __future__ import annotations

import base64
import binascii

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.console.desk import officer_words as words
from service.console.desk.access import or_again, signed_in, takes_files
from service.console.desk.frame import DeskPages
from service.console.desk.officer_common import district_choices, names
from service.console.desk.officer_farmers import csv_file
from service.desk.farmer_rows import COLUMNS, EXAMPLES, NEEDED
from service.desk.imports import MOST_OCTETS, ImportPlan
from service.desk.refusals import DeskRefused
from service.phrases import say, say_n

MOST_SENT = MOST_OCTETS + 256 * 1024
CARRIED = 24_000
"""A file up to so many octets comes along in the page that shows it; a larger one is chosen again,
so that no page is heavy on a weak link."""
MOST_SHOWN = 100
"""Bad rows on one page: whoever mends these looks again."""


def import_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the pages of the import."""
    imports = desk.jobs.imports

    @pages.get("/import")
    @signed_in("officer")
    def import_farmers() -> tuple[str, int]:
        return desk.page(
            "officer_import.html",
            columns=[(name, EXAMPLES[name], name in NEEDED) for name in COLUMNS],
            column_words=words.column_words(),
        )

    @pages.get("/import/template.csv")
    @signed_in("officer")
    def import_template() -> Response:
        return csv_file(imports.template(desk.account), "farmers-template.csv")

    @pages.post("/import/look")
    @signed_in("officer")
    @takes_files(MOST_SENT)
    @or_again(import_farmers)
    def look_at_farmers() -> tuple[str, int]:
        raw, skip = _sent(), _skips()
        plan = imports.preview(desk.account, raw, desk.now(), skip_known=skip)
        return _preview(desk, plan, raw, skip=skip)

    @pages.post("/import")
    @signed_in("officer")
    @takes_files(MOST_SENT)
    @or_again(import_farmers)
    def keep_farmers() -> Response | tuple[str, int]:
        raw, skip, digest = _sent(), _skips(), request.form.get("digest", "")
        plan = imports.preview(desk.account, raw, desk.now(), skip_known=skip)
        if plan.problems or plan.digest != digest:
            # Another file, or somebody kept one of these farmers meanwhile: look again.
            return _preview(desk, plan, raw, skip=skip)
        done = imports.run(desk.account, raw, desk.now(), digest=digest, skip_known=skip)
        desk.notice(
            say_n(
                "{n} farmer is taken in.",
                "{n} farmers are taken in.",
                count="n",
                n=len(done.rows),
            )
        )
        return desk.go("desk.officer.farmers")


def _preview(desk: DeskPages, plan: ImportPlan, raw: bytes, *, skip: bool) -> tuple[str, int]:
    return desk.page(
        "officer_import_look.html",
        422 if plan.problems else 200,
        plan=plan,
        problems=plan.problems[:MOST_SHOWN],
        bad_rows=len({one.line for one in plan.problems}),
        skip=skip,
        a_district=next((name for _, name in district_choices(desk)), ""),
        carried=base64.b64encode(raw).decode() if len(raw) <= CARRIED else "",
        **names(desk),
    )


def _sent() -> bytes:
    """Return the file of the form: a new one, or the one that the page carried.

    Its octets come as base64: a browser would change the ends of its lines.
    """
    file = request.files.get("file")
    if file is not None and file.filename:
        return bytes(file.read())
    try:
        raw = base64.b64decode(request.form.get("carried", ""), validate=True)
    except (binascii.Error, ValueError):
        raw = b""
    if not raw:
        raise DeskRefused(say("Choose a file first."))
    return raw


def _skips() -> bool:
    return "yes" in request.form.getlist("skip_known")
