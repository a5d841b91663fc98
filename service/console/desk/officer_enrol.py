"""The paper form for a new plot, its quick entry with a cup test, and the handover record."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.advice.myplot_words import calibrated_so
from service.console.desk import officer_words as words
from service.console.desk.access import or_again, signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.officer_common import names
from service.desk.handover import NEEDED, Cups, Entered, Entry, Handed
from service.desk.refusals import DeskRefused
from service.phrases import Number, Phrase, say
from service.sizing.calibration import Calibration
from service.text.languages import LANGUAGES

RECORD = "desk.officer.handover_record"
CUP_ROWS = 6
"""Rows of cups on the paper: one a line and, where lines have many, two."""
MOST_IN_ROW = 4
SHARES = (("1", say("to the brim")), ("0.75", say("three quarters")), ("0.5", say("half")))
"""How full the tank was when the first cup stood under."""


def enrol_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the form to print, the entries, and the record."""
    _paper(desk, pages)
    _new(desk, pages)
    _known(desk, pages)


def _paper(desk: DeskPages, pages: Blueprint) -> None:
    @pages.get("/enrol/paper")
    @signed_in("officer", "operator")
    def paper_form() -> tuple[str, int]:
        fields = desk.jobs.handovers.fields(desk.account, desk.now())
        return desk.page("officer_paper.html", fields=fields, **_about(desk))


def _new(desk: DeskPages, pages: Blueprint) -> None:
    handovers = desk.jobs.handovers

    def shown(problems: Mapping[str, tuple[Phrase, ...]], status: int = 200) -> tuple[str, int]:
        fields = handovers.fields(desk.account, desk.now())
        return desk.page(
            "officer_enrol.html", status, fields=fields, problems=problems, handed=None,
            **_about(desk),
        )  # fmt: skip

    @pages.get("/enrol")
    @signed_in("officer", "operator")
    def enrol() -> tuple[str, int]:
        return shown({})

    @pages.post("/enrol")
    @signed_in("officer", "operator")
    @or_again(enrol)
    def enrol_plot() -> Response | tuple[str, int]:
        done = handovers.enter(desk.account, _entry(desk), desk.now())
        return _told(desk, done) if done.plot else shown(done.problems, 422)


def _known(desk: DeskPages, pages: Blueprint) -> None:
    handovers = desk.jobs.handovers

    def shown(
        handed: Handed, problems: Mapping[str, tuple[Phrase, ...]], status: int = 200
    ) -> tuple[str, int]:
        return desk.page(
            "officer_enrol.html", status, fields=handed.fields, problems=problems, handed=handed,
            **_about(desk),
        )  # fmt: skip

    @pages.get("/plots/<plot_id>/handover")
    @signed_in("officer", "operator")
    def hand_over(plot_id: str) -> tuple[str, int]:
        return shown(handovers.of_plot(desk.account, plot_id, desk.now()), {})

    @pages.post("/plots/<plot_id>/handover")
    @signed_in("officer", "operator")
    @or_again(hand_over)
    def hand_plot_over(plot_id: str) -> Response | tuple[str, int]:
        handed = handovers.of_plot(desk.account, plot_id, desk.now())
        done = handovers.enter(desk.account, _entry(desk, plot_id), desk.now())
        return _told(desk, done) if done.plot else shown(handed, done.problems, 422)

    @pages.get("/plots/<plot_id>/record")
    @signed_in("officer", "operator")
    def handover_record(plot_id: str) -> tuple[str, int]:
        handed = handovers.of_plot(desk.account, plot_id, desk.now())
        return desk.page(
            "officer_record.html", handed=handed, **_about(desk)
        )  # fmt: skip


def _about(desk: DeskPages) -> Mapping[str, Any]:
    return {
        "spoken": [(code, one.own_name) for code, one in LANGUAGES.items()],
        "field_words": words.field_words(),
        "needed": NEEDED,
        "cup_rows": range(1, CUP_ROWS + 1),
        "in_row": range(1, MOST_IN_ROW + 1),
        "shares": SHARES,
        **names(desk),
    }


def _told(desk: DeskPages, done: Entered) -> Response:
    """Say what each measurement said, and show the record."""
    desk.notice(say("The plot is kept."))
    for found in done.found:
        if isinstance(found, Calibration):
            desk.notice(calibrated_so(found.factor))
        else:
            desk.notice(say("A measurement does not fit the plot and was not kept."))
            desk.notice(words.contradiction_words()[found.reason])
    assert done.plot is not None
    return desk.go(RECORD, plot_id=done.plot.id)


def _entry(desk: DeskPages, plot_id: str | None = None) -> Entry:
    form = request.form
    fields = desk.jobs.handovers.fields(desk.account, desk.now())
    language, said = form.get("language", ""), form.get("consent", "")
    return Entry(
        number=form.get("number", ""),
        name=form.get("name", ""),
        typed={one.name: form[one.name] for one in fields if one.name in form},
        plot_name=form.get("plot_name", ""),
        language=language if language in LANGUAGES else None,
        groups=_groups(form.get("groups", "")),
        cups=_cups(form.get("cups", ""), form.get("cup_minutes", ""), form.get("cup_tank", "")),
        consent={"yes": True, "no": False}.get(said),
        consent_words=form.get("consent_words", ""),
        plot_id=plot_id,
    )


def _groups(text: str) -> tuple[str, ...]:
    parts = (" ".join(one.split()) for one in text.replace(",", ";").split(";"))
    return tuple(dict.fromkeys(one[:80] for one in parts if one))


def _cups(text: str, minutes: str, share: str) -> Cups | None:
    """Return the cup test as it was typed: a line of millilitres for each row of cups."""
    rows = [line.replace(",", ".").split() for line in text.splitlines() if line.strip()]
    if not rows:
        return None
    volumes = [[_number(cell, 0.0, 5000.0) for cell in row] for row in rows]
    caught = _number(minutes, 0.5, 120.0) if minutes.strip() else 6.0
    full = _number(share, 0.05, 1.0) if share.strip() else 1.0
    return Cups(volumes, caught, full)


def _number(text: str, low: float, high: float) -> float:
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        value = -1.0
    if not low <= value <= high:
        raise DeskRefused(
            say(
                "Cups: {text} is no number from {low} to {high}.",
                text=text[:20],
                low=Number(low, 2),
                high=Number(high),
            )
        )
    return value
