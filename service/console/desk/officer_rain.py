"""Rain as measured in the districts, and the calendar of what goes out."""

from __future__ import annotations

from datetime import date

from babel.dates import format_date
from flask import Blueprint, g, request
from werkzeug.wrappers import Response

from service.console.desk import officer_words as words
from service.console.desk.access import or_again, signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.officer_common import asked_for, district_choices
from service.desk.districts import OLDEST_DAYS
from service.desk.refusals import DeskRefused
from service.phrases import say
from service.text.languages import LANGUAGES

DAYS_SHOWN = 31
DAYS_AHEAD = 28


def rain_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the page of rain and the calendar."""
    _rain(desk, pages)
    _calendar(desk, pages)


def _rain(desk: DeskPages, pages: Blueprint) -> None:
    reports = desk.jobs.rain

    @pages.get("/rain")
    @signed_in("officer")
    def rain() -> tuple[str, int]:
        lines = reports.lines(desk.account, desk.now(), DAYS_SHOWN)
        return desk.page(
            "officer_rain.html",
            lines=sorted(lines, key=lambda one: (-one.report.day.toordinal(), one.district_name)),
            choices=district_choices(desk),
            district=request.args.get("district", ""),
            day_known=request.args.get("day", "") or desk.today().isoformat(),
            mm=request.args.get("mm", ""),
            today=desk.today().isoformat(),
            oldest_days=OLDEST_DAYS,
            short_day=_short_day,
        )

    @pages.post("/rain")
    @signed_in("officer")
    @or_again(rain)
    def report_rain() -> Response:
        form = request.form
        day, mm = _day(form.get("day", "")), _millimetres(form.get("mm", ""))
        report = reports.report(desk.account, form.get("district", ""), day, mm, desk.now())
        name = desk.tables.districts[report.district].name
        desk.notice(say("The rain is kept: {district}.", district=name))
        return desk.go("desk.officer.rain")


def _calendar(desk: DeskPages, pages: Blueprint) -> None:
    @pages.get("/calendar")
    @signed_in("officer")
    def calendar() -> tuple[str, int]:
        audience, asked = asked_for(desk)
        days = desk.jobs.outlook.days(desk.account, audience, desk.now(), DAYS_AHEAD)
        return desk.page(
            "officer_calendar.html",
            days=days,
            asked=asked,
            choices=district_choices(desk),
            states=words.seasonal_states(),
            short_day=_short_day,
        )


def _short_day(day: date) -> str:
    return format_date(day, "EEE d MMM", locale=LANGUAGES[g.language].locale)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise DeskRefused(say("Write the day as 2026-11-25: year, month, day.")) from None


def _millimetres(text: str) -> float:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise DeskRefused(say("Write the rain in mm as a number, such as 12.5.")) from None
