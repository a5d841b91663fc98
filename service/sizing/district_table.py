"""Reading a deployment's climate table: CSV with a row a month, or a row a place.

The long form has the columns `COLUMNS`; any after `month` may be empty or missing. The wide form
has one row a place and monthly columns that end in _01 to _12. A line that begins with # is a
remark. A problem carries file and line.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from math import isfinite

from service.errors import LineProblem
from service.sizing.district_rows import DistrictRows
from service.sizing.month_eto import MonthRecord, Place
from service.sizing.month_limits import LIMITS

PLACE_COLUMNS = ("district_id", "district_name", "country", "lat", "lon", "elev_m", "coast")
MONTH_NUMBERS = (
    "tmin_c", "tmax_c", "rh_mean_pct", "ea_kpa", "tdew_c", "sun_h", "sun_pct", "rs_mj_m2_day",
    "wind_m_s", "wind_height_m", "rain_mm", "rain_dependable_mm", "wet_days", "eto_mm_day",
)  # fmt: skip
COLUMNS = (*PLACE_COLUMNS, "month", *MONTH_NUMBERS, "source", "period")

# Other headings met in public tables of normals, so that such a file needs no editing.
ALIASES = {
    "station_id": "district_id",
    "name": "district_name",
    "rh_pct": "rh_mean_pct",
    "wind10_m_s": "wind_m_s",
}
YES, NO = ("1", "yes", "true", "y"), ("", "0", "no", "false", "n")
_MONTHLY = re.compile(r"(.+)_(0[1-9]|1[0-2])")


@dataclass(slots=True)
class _Found:
    """What was read of one district so far."""

    name: str
    country: str
    place: Place
    first_line: int
    months: dict[int, MonthRecord] = field(default_factory=dict)


def read_district_rows(
    text: str, file_name: str, problems: list[LineProblem]
) -> Iterator[DistrictRows]:
    """Yield each district that could be read whole; add every problem to `problems`."""
    found: dict[str, _Found] = {}
    for line, row in _long_rows(text, file_name, problems):
        try:
            _take(row, line, found)
        except ValueError as fault:
            problems.append(LineProblem(file_name, line, str(fault)))
    if not found and not problems:
        problems.append(LineProblem(file_name, 1, "the table holds no district"))
    for key, district in found.items():
        missing = [str(month) for month in range(1, 13) if month not in district.months]
        if missing:
            message = f"{district.name}: month {', '.join(missing)} missing or not usable"
            problems.append(LineProblem(file_name, district.first_line, message))
            continue
        records = tuple(district.months[month] for month in range(1, 13))
        yield DistrictRows(key, district.name, district.country, district.place, records)


def _long_rows(
    text: str, file_name: str, problems: list[LineProblem]
) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield line and row of a table in either form, as rows a month."""
    table = csv.reader(io.StringIO(text.removeprefix("\ufeff")))
    heading = [name.strip() for name in next((row for row in table if _counts(row)), [])]
    complaints = _heading_problems(heading)
    if complaints:
        line = max(1, table.line_num if heading else 1)
        problems.extend(LineProblem(file_name, line, complaint) for complaint in complaints)
        return
    for cells in table:
        if not _counts(cells):
            continue
        if len(cells) != len(heading):
            message = f"{len(cells)} values under {len(heading)} headings"
            problems.append(LineProblem(file_name, table.line_num, message))
            continue
        row = dict(zip(heading, (cell.strip() for cell in cells), strict=True))
        for month_row in _months_of(row):
            yield table.line_num, month_row


def _counts(cells: list[str]) -> bool:
    """Whether a line says something: it is neither empty nor a remark that begins with #."""
    return any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#")


def _canonical(heading: str) -> tuple[str, str | None]:
    """Column of the long form and month number that a heading stands for."""
    match = _MONTHLY.fullmatch(heading)
    stem, month = (match.group(1), match.group(2)) if match else (heading, None)
    return ALIASES.get(stem, stem), month


def _heading_problems(heading: list[str]) -> list[str]:
    complaints = []
    seen: set[tuple[str, str | None]] = set()
    for name in heading:
        column, month = _canonical(name)
        if column not in COLUMNS or (month and column not in MONTH_NUMBERS):
            near = get_close_matches(name, COLUMNS, n=1)
            hint = f"; did you mean {near[0]}?" if near else ""
            complaints.append(f"unknown column {name!r}{hint}")
        elif (column, month) in seen:
            complaints.append(f"column {name!r} stands twice")
        seen.add((column, month))
    wide = any(month for _, month in seen)
    needed = ["district_id", "district_name"] + ([] if wide else ["month"])
    complaints += [f"column {name!r} is missing" for name in needed if (name, None) not in seen]
    if wide and ("month", None) in seen:
        complaints.append("monthly columns (_01 to _12) and a month column cannot stand together")
    return complaints


def _months_of(row: Mapping[str, str]) -> Iterator[dict[str, str]]:
    named = {_canonical(heading): (heading, value) for heading, value in row.items()}
    common = {column: value for (column, month), (_, value) in named.items() if month is None}
    if not any(month for _, month in named):
        yield common
        return
    for number in range(1, 13):
        monthly = {
            column: value
            for (column, month), (_, value) in named.items()
            if month is not None and int(month) == number
        }
        if any(heading.startswith("wind10_m_s") for heading in row):
            monthly.setdefault("wind_height_m", "10")
        yield common | monthly | {"month": str(number)}


def _take(row: Mapping[str, str], line: int, found: dict[str, _Found]) -> None:
    key, name = row.get("district_id", ""), row.get("district_name", "")
    if not key:
        raise ValueError("district_id is empty")
    district = found.get(key)
    if district is None:
        if not name:
            raise ValueError(f"{key}: district_name is empty")
        place = _place(row)
        district = found[key] = _Found(name, row.get("country", ""), place, line)
    else:
        _check_same(row, district)
    record = _record(row, line)
    earlier = district.months.get(record.month)
    if earlier is not None:
        raise ValueError(
            f"{name or key}: month {record.month} stood already in line {earlier.line}"
        )
    district.months[record.month] = record


def _place(row: Mapping[str, str]) -> Place:
    coast = row.get("coast", "").lower()
    if coast not in YES + NO:
        raise ValueError(f"coast: {coast!r} is not yes or no")
    return Place(_number(row, "lat"), _number(row, "lon"), _number(row, "elev_m"), coast in YES)


def _check_same(row: Mapping[str, str], district: _Found) -> None:
    """Refuse a later row of a district that says something else of the place."""
    place = district.place
    known: dict[str, object] = {
        "lat": place.latitude,
        "lon": place.longitude,
        "elev_m": place.elevation,
    }
    for column, value in known.items():
        here = _number(row, column)
        if here is not None and here != value:
            raise ValueError(
                f"{column} {here:g} differs from line {district.first_line} of this district"
            )
    name = row.get("district_name", "")
    if name and name != district.name:
        raise ValueError(f"district_name {name!r} differs from line {district.first_line}")


def _record(row: Mapping[str, str], line: int) -> MonthRecord:
    month = _number(row, "month")
    if month is None or month != int(month):
        raise ValueError(f"month: {row.get('month', '')!r} is not 1 to 12")
    values = {column: _number(row, column) for column in MONTH_NUMBERS}
    tmin, tmax = values["tmin_c"], values["tmax_c"]
    if tmin is not None and tmax is not None and tmin > tmax:
        raise ValueError(f"tmin_c {tmin:g} is above tmax_c {tmax:g}")
    if (tmin is None) != (tmax is None):
        raise ValueError("tmin_c and tmax_c must both be given, or neither")
    return MonthRecord(
        line=line,
        month=int(month),
        source=row.get("source", ""),
        period=row.get("period", ""),
        **values,
    )


def _number(row: Mapping[str, str], column: str) -> float | None:
    text = row.get(column, "")
    if not text:
        return None
    low, high = LIMITS[column]
    try:
        value = float(text)
    except ValueError:
        hint = "; write a decimal point" if "," in text else ""
        raise ValueError(f"{column}: {text!r} is not a number{hint}") from None
    if not (isfinite(value) and low <= value <= high):
        raise ValueError(f"{column} {text} is outside {low:g}..{high:g}")
    return value
