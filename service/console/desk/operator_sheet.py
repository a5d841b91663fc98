"""The plot's page: drawing, head and flow, parts, schedule, reasons; by text and on paper."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from flask import Blueprint, g, request
from werkzeug.wrappers import Response

from service.advice import rounding
from service.advice.plan_words import weakest_share_pct
from service.advice.why import layout_in_words
from service.console.desk import operator_charts as charts
from service.console.desk import operator_words as words
from service.console.desk.access import or_again, signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.operator_callers import named_flows, names, seen_plot
from service.desk.advice_sheet import MOST_PARTS, Sheet, TextOffer
from service.desk.refusals import DeskRefused, unknown
from service.phrases import Month, Number, Phrase, say
from service.sizing.result import Layout, WateringMonth
from service.text.languages import LANGUAGES
from service.text.numbers import write_month, write_number

SEND = "desk.operator.send"
FARTHEST_DAYS = 2 * 366
"""How far from today a day may lie whose water is explained [days]: our choice."""
_SVG = "image/svg+xml"


def sheet_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the plot's page, its pictures, its reasons, its paper, and the texts about it."""
    _plot(desk, pages)
    _why(desk, pages)
    _pictures(desk, pages)
    _paper(desk, pages)
    _texts(desk, pages)


def _plot(desk: DeskPages, pages: Blueprint) -> None:
    sheets = desk.jobs.sheets

    @pages.get("/callers/<phone_id>/plots/<plot_id>")
    @signed_in("operator", "officer")
    def plot(phone_id: str, plot_id: str) -> tuple[str, int]:
        view, found = seen_plot(desk, phone_id, plot_id)
        sheet, missing = None, None
        try:
            sheet = sheets.see(desk.account, plot_id, desk.now())
        except DeskRefused as refused:
            # Too little is told for a plan: the page says what, and leads to the form.
            missing = refused.phrase
        return desk.page(
            "operator_plot.html",
            view=view,
            plot=found,
            place=view.plots.index(found) + 1,
            sheet=sheet,
            missing=missing,
            lines=charts.some_lines(sheet.lines) if sheet else (),
            weakest=weakest_share(sheet.layout) if sheet else 0.0,
            layout_words=layout_in_words(sheet.layout) if sheet else "",
            part_name=Phrase,
            stage_names=words.stage_names(),
            flows=named_flows(desk.jobs.forms.flows),
            mine="operator" in desk.account.roles or "admin" in desk.account.roles,
            **names(desk, view.phone.language),
        )


def _why(desk: DeskPages, pages: Blueprint) -> None:
    sheets = desk.jobs.sheets

    @pages.get("/callers/<phone_id>/plots/<plot_id>/why")
    @signed_in("operator", "officer")
    def why(phone_id: str, plot_id: str) -> tuple[str, int]:
        day = _day(request.args.get("day", ""), desk.today()) or desk.today()
        view, found = seen_plot(desk, phone_id, plot_id)
        return desk.page(
            "operator_why.html",
            view=view,
            plot=found,
            place=view.plots.index(found) + 1,
            day_asked=day,
            chains=sheets.explain(desk.account, plot_id, desk.now(), day),
        )


def _pictures(desk: DeskPages, pages: Blueprint) -> None:
    sheets = desk.jobs.sheets

    @pages.get("/plots/<plot_id>/drawing.svg")
    @signed_in("operator", "officer")
    def drawing(plot_id: str) -> Response:
        return Response(sheets.see(desk.account, plot_id, desk.now()).drawing, mimetype=_SVG)

    @pages.get("/plots/<plot_id>/<any(head, flow):what>.svg")
    @signed_in("operator", "officer")
    def along(plot_id: str, what: str) -> Response:
        sheet = sheets.see(desk.account, plot_id, desk.now())
        names_of = {"head": say("Head [m]"), "flow": say("Flow of a dripper [L/h]")}
        svg = charts.along_lines(
            charts.telling_lines(sheet.lines),
            (lambda line: line.head_m) if what == "head" else (lambda line: line.flow_lph),
            lambda number: desk.tell(say("Line {number}", number=number)),
            (desk.tell(say("Way from the tap [m]")), desk.tell(names_of[what])),
            _write,
        )
        return Response(svg, mimetype=_SVG)

    @pages.get("/plots/<plot_id>/months.svg")
    @signed_in("operator", "officer")
    def months(plot_id: str) -> Response:
        sheet = sheets.see(desk.account, plot_id, desk.now())
        axis = say("Open valve [min a day]") if _timed(sheet.months) else say("Water [L a day]")
        svg = charts.by_month(_rows(sheet.months), desk.tell(axis), _write)
        return Response(svg, mimetype=_SVG)


def _paper(desk: DeskPages, pages: Blueprint) -> None:
    @pages.get("/plots/<plot_id>/installer-sheet.pdf")
    @signed_in("operator", "officer")
    def installer_sheet(plot_id: str) -> Response:
        wanted = request.args.get("language", "")
        language = wanted if wanted in LANGUAGES else ""
        pdf = desk.jobs.sheets.installer_sheet(desk.account, plot_id, desk.now(), language)
        return Response(
            pdf,
            mimetype="application/pdf",
            headers={
                "Content-Disposition": 'inline; filename="installer-sheet.pdf"',
                # A browser shows a PDF by a page of its own, which has styles in it.
                "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline';"
                " object-src 'self'; frame-ancestors 'none'",
            },
        )


def _texts(desk: DeskPages, pages: Blueprint) -> None:
    sheets = desk.jobs.sheets

    @pages.get("/callers/<phone_id>/plots/<plot_id>/send")
    @signed_in("operator", "officer")
    def send(phone_id: str, plot_id: str) -> tuple[str, int]:
        view, found = seen_plot(desk, phone_id, plot_id)
        sheet = sheets.see(desk.account, plot_id, desk.now())
        return desk.page(
            "operator_send.html",
            view=view,
            plot=found,
            place=view.plots.index(found) + 1,
            offers=_worth_sending(sheet),
            text_names=words.text_names(),
            most=MOST_PARTS,
            **names(desk, view.phone.language),
        )

    @pages.post("/callers/<phone_id>/plots/<plot_id>/send")
    @signed_in("operator", "officer")
    @or_again(send)
    def send_text(phone_id: str, plot_id: str) -> Response:
        flow, _, state = request.form.get("what", "").partition("/")
        new = sheets.send(desk.account, plot_id, desk.now(), flow, state)
        desk.notice(
            say("The text is on its way.")
            if new
            else say("The same text went out today already: it is not sent twice.")
        )
        return desk.go(SEND, phone_id=phone_id, plot_id=plot_id)


def _worth_sending(sheet: Sheet) -> tuple[TextOffer, ...]:
    """Return the texts about a plot; what would help is none where all is even enough."""
    fine = sheet.layout.meets_goal
    return tuple(one for one in sheet.by_text if not (fine and one.state == "remedies"))


def weakest_share(layout: Layout) -> float:
    """Return how the weakest dripper stands to the strongest [%], as callers are told it."""
    return rounding.per_cent(weakest_share_pct(layout.full_tank)).value


def _timed(months: Sequence[WateringMonth]) -> bool:
    return all(month.minutes_per_day is not None for month in months)


def _rows(months: Sequence[WateringMonth]) -> list[tuple[str, float]]:
    """Return names and values of the months; of two of one name the later tells its year."""
    timed, rows, seen = _timed(months), list[tuple[str, float]](), set[str]()
    for month in months:
        name = write_month(Month(month.month), LANGUAGES[g.language])
        name = f"{name} {month.year}" if name in seen else name
        seen.add(name)
        rows.append((name, (month.minutes_per_day or 0.0) if timed else month.gross_l_day))
    return rows or [("", 0.0)]


def _write(value: float) -> str:
    return write_number(Number(value, 2), LANGUAGES[g.language])


def _day(text: str, today: date) -> date | None:
    if not text:
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise unknown() from None
    if abs((day - today).days) > FARTHEST_DAYS:
        raise unknown()
    return day
