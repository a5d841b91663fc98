"""The clocks, holidays and decent hours of the districts, from the settings."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from datetime import UTC, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from service.errors import LineProblem, TextFileError
from service.outreach import Place, Places
from service.outreach.places import holidays_of
from service.settings import SettingError, Settings

COLUMNS = ("district", "time_zone", "holidays")


def make_places(settings: Settings) -> Places:
    """Return the clocks and holidays of the districts, and the hours of reminders.

    Raises SettingError for holidays that are not known, TextFileError for a file of places.
    """
    start, end = settings.reminder_hours
    try:
        holidays_of(settings.holidays)
    except ValueError as error:
        raise SettingError("LITRELINE_HOLIDAYS", settings.holidays, str(error)) from error
    default = Place(settings.time_zone, settings.holidays)
    return Places(default, read_places(settings.places), start, end, settings.reminders_on_sunday)


def read_places(path: Path | None) -> Mapping[str, Place]:
    """Return the places of a CSV file; raises TextFileError with every row that cannot be used."""
    if path is None:
        return {}
    rows = csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig")))
    if tuple(rows.fieldnames or ()) != COLUMNS:
        raise TextFileError([LineProblem(path.name, 1, f"the columns must be {','.join(COLUMNS)}")])
    found: dict[str, Place] = {}
    problems: list[LineProblem] = []
    for row in rows:
        try:
            found[row["district"].strip()] = _place(row)
        except ValueError as error:
            problems.append(LineProblem(path.name, rows.line_num, str(error)))
    if problems:
        raise TextFileError(problems)
    return found


def _place(row: Mapping[str, str | None]) -> Place:
    district, zone, region = ((row[name] or "").strip() for name in COLUMNS)
    if not district:
        raise ValueError("district: it is empty")
    holidays_of(region)
    return Place(_zone(zone), region)


def _zone(name: str) -> tzinfo:
    if name == "UTC":
        return UTC
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise ValueError(f"time_zone: {name!r} is none; example Africa/Nairobi") from error
