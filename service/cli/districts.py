"""`litreline districts`: the places that can be chosen, their climate, and loading one's own."""

from __future__ import annotations

import argparse
import json
from calendar import month_abbr
from pathlib import Path
from typing import Any

from service.cli.groups import Commands, add_command
from service.cli.output import tell, warn
from service.errors import LitrelineError
from service.sizing.climate import District, find_districts
from service.sizing.month_eto import MonthEto
from service.wiring.environment import settings_from_environment
from service.wiring.own_districts import districts_file, load_districts
from service.wiring.tables import LoadedTables, load_tables


class NoDistrict(LitrelineError):
    """A name that no district, or more than one, begins with."""


def add(commands: Commands) -> None:
    """Add the command with its three parts."""
    parser = add_command(commands, "districts", run, "list the districts, show one, load others")
    parts = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    every = add_command(parts, "list", run_list, "list all districts")
    one = add_command(
        parts, "show", run_show, "show one district's months", "Its first letters are enough."
    )
    one.add_argument("name", metavar="NAME", help="key or first letters of the name")
    for part in (every, one):
        part.add_argument("--json", action="store_true", help="print it as JSON")
    load = add_command(
        parts,
        "load",
        run_load,
        "check a table of districts and use it from the next start on",
        "Every row is checked first; if one must be refused, all are told and the districts in"
        " use stay. docs/districts.md tells the columns.",
    )
    load.add_argument("file", metavar="FILE", type=Path, help="the table, CSV in UTF-8")


def run(arguments: argparse.Namespace) -> int:
    """Stand in until a part is chosen; argparse asks for one before this can run."""
    raise NoDistrict("choose list, show or load")


def run_list(arguments: argparse.Namespace) -> int:
    """List all districts."""
    districts = find_districts(_load().tables.districts, "")
    if arguments.json:
        tell(json.dumps([_summary(one) for one in districts], ensure_ascii=False, indent=2))
        return 0
    width = max((len(one.key) for one in districts), default=0)
    for one in districts:
        tell(f"{one.key:{width}}  {one.name}, {one.country}")
    return 0


def run_show(arguments: argparse.Namespace) -> int:
    """Show one district's months and where its figures are from."""
    district = _one(_load(), arguments.name)
    if arguments.json:
        tell(json.dumps(_whole(district), ensure_ascii=False, indent=2))
    else:
        tell(_table(district))
    return 0


def run_load(arguments: argparse.Namespace) -> int:
    """Put a deployment's own districts in place of those in use."""
    settings = settings_from_environment()
    districts = load_districts(arguments.file, settings.data_dir)
    for warning in (warning for one in districts.values() for warning in one.warnings):
        warn(f"kept, but look at {warning}")
    rough = [one.name for one in districts.values() if one.only_temperature]
    if rough:
        warn(f"from temperature alone, so say about: {', '.join(rough)}")
    if settings.districts is not None:
        warn(f"LITRELINE_DISTRICTS={settings.districts} is set and goes before them")
    tell(f"{len(districts)} districts checked and kept; they are used from the next start on")
    return 0


def _load() -> LoadedTables:
    settings = settings_from_environment()
    loaded = load_tables(districts_file(settings), settings.prices, invented_prices=False)
    if "districts" in loaded.invented:
        warn("these districts are invented: load your own with `litreline districts load FILE`")
    return loaded


def _one(loaded: LoadedTables, name: str) -> District:
    districts = loaded.tables.districts
    if name in districts:
        return districts[name]
    found = find_districts(districts, name)
    if len(found) == 1:
        return found[0]
    known = ", ".join(one.name for one in found or find_districts(districts, ""))
    raise NoDistrict(
        f"{'several districts begin' if found else 'no district begins'} with {name!r}: {known}"
    )


def _summary(district: District) -> dict[str, Any]:
    return {"district": district.key, "name": district.name, "country": district.country}


def _whole(district: District) -> dict[str, Any]:
    climate = district.climate
    months = [
        {
            "month": place + 1,
            "eto_mm_day": round(climate.eto_mm_day[place], 2),
            "eto_method": district.eto[place].method,
            "eto_filled": list(district.eto[place].filled),
            "rain_mm_day": round(climate.rain_mm_day[place], 2),
            "effective_rain_mm_day": round(climate.effective_mm_day[place], 2),
        }
        for place in range(12)
    ]
    return {
        **_summary(district),
        "months": months,
        "source": district.source,
        "period": district.period,
        "warnings": [str(warning) for warning in district.warnings],
    }


def _table(district: District) -> str:
    climate = district.climate
    rows = [
        f"{month_abbr[place + 1]:>5}  {climate.eto_mm_day[place]:6.1f}"
        f"  {climate.rain_mm_day[place]:6.1f}  {climate.effective_mm_day[place]:12.1f}"
        f"  {_how(district.eto[place])}"
        for place in range(12)
    ]
    return "\n".join(
        [
            f"{district.name}, {district.country} ({district.key})",
            "month     ETo    rain  rain counted  ETo by    (mm a day)",
            *rows,
            *_filled(district),
            f"source: {district.source or 'not given'}; years: {district.period or 'not given'}",
            *(str(warning) for warning in district.warnings),
        ]
    )


def _how(month: MonthEto) -> str:
    return (
        f"{month.method}, with gaps filled"
        if month.method == "eq. 6" and month.filled
        else (month.method)
    )


def _filled(district: District) -> list[str]:
    """Name what was estimated in some month, with the months."""
    months: dict[str, list[str]] = {}
    for place, month in enumerate(district.eto):
        for gap in month.filled:
            months.setdefault(gap, []).append(month_abbr[place + 1])
    return [
        f"{gap}: {'every month' if len(where) == 12 else ', '.join(where)}"
        for gap, where in months.items()
    ]
