"""What was reported of soil and rain on a plot, day by day, and this morning's soil from it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from service.advice.answers import NOT_ON_THE_LIST, Answers
from service.advice.context import Context
from service.sizing.soil_store import FEEL_DEPTH_M, LONGEST_REST_DAYS
from service.sizing.today import Morning, Report, this_morning
from service.sizing.watering import Case
from service.units import millimetres

REPORTS = "water_reports"
RAINED = "rain"
"""Stored as the feel of the soil by a caller who knows the rain instead."""


def report_of(answers: Answers) -> Report:
    """Return what was told of soil and rain this morning."""
    said = answers.get("soil_feel")
    for feel in FEEL_DEPTH_M:
        if said == feel:
            return Report(feel=feel)
    if said == RAINED:
        return Report(rain_mm=millimetres(float(str(answers.get("rain_fallen_m") or 0))))
    return Report()


def kept_reports(answers: Answers, context: Context) -> list[Mapping[str, object]]:
    """Return the reports to keep: today's in place of an earlier one of today, none too old."""
    report, today = report_of(answers), context.today.isoformat()
    oldest = (context.today - timedelta(days=LONGEST_REST_DAYS)).isoformat()
    kept = [one for one in _kept(answers) if oldest <= str(one["day"]) < today]
    return [*kept, {"day": today, "feel": report.feel, "rain_mm": report.rain_mm}]


def reports(answers: Answers) -> dict[date, Report]:
    """Return the reports kept of a plot, by day."""
    found = {}
    for one in _kept(answers):
        feel = next((feel for feel in FEEL_DEPTH_M if feel == one.get("feel")), None)
        rain = one.get("rain_mm")
        report = Report(feel, None if rain is None else float(str(rain)))
        found[date.fromisoformat(str(one["day"]))] = report
    return found


def _kept(answers: Answers) -> list[Mapping[str, object]]:
    kept = answers.get(REPORTS)
    return kept if isinstance(kept, list) else []


def district_rain(answers: Answers, context: Context) -> Mapping[date, float]:
    """Return the rain that field officers reported for the plot's district of late [mm]."""
    district = str(answers.get("district") or "")
    if district in ("", NOT_ON_THE_LIST):
        return {}
    return context.rain(district, context.today - timedelta(days=LONGEST_REST_DAYS))


def morning_of(case: Case, answers: Answers, context: Context) -> Morning | None:
    """Return the soil of a plot this morning as the reports of the days before leave it."""
    told = reports(answers)
    return this_morning(case, context.today, told, district_rain(answers, context))


def unasked_report(answers: Answers, context: Context) -> Report:
    """Return what is known of today without asking: the caller's word, else the district's rain."""
    told = reports(answers).get(context.today)
    if told is not None:
        return told
    return Report(rain_mm=district_rain(answers, context).get(context.today))
