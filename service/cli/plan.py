"""`litreline plan`: a plot card in, a plan out; or why a day takes so much, or a calendar."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from datetime import date
from itertools import chain
from pathlib import Path
from typing import TextIO

from service import advice
from service.cli import plan_files
from service.cli.groups import Commands, add_command
from service.cli.output import tell, warn
from service.errors import CardError, LitrelineError
from service.sizing.card import PlotCard, read_card
from service.sizing.result import Plan
from service.sizing.tables import Tables
from service.wiring.environment import settings_from_environment, utc_now
from service.wiring.files import read_text
from service.wiring.own_districts import districts_file
from service.wiring.tables import load_tables

STANDARD_INPUT = "-"


class OneCardOnly(LitrelineError):
    """A wish that can be met for one card in a file of its own."""


def add(commands: Commands) -> None:
    """Add the command."""
    parser = add_command(
        commands,
        "plan",
        run,
        "plan plots from their cards",
        "A .jsonl file, or - for standard input, holds one card a line and gives one plan a line,"
        " as JSON. A card that cannot be used is explained field by field; the exit code is 2.",
    )
    parser.add_argument("card", metavar="CARD.json|FILE.jsonl|-", help="the card or cards")
    parser.add_argument("--json", action="store_true", help="print the whole plan as JSON")
    parser.add_argument(
        "--emitters", action="store_true", help="with JSON, list the flow of every emitter"
    )
    parser.add_argument(
        "--today",
        type=_day,
        metavar="DATE",
        help="the day asked on, such as 2026-07-01; today without it",
    )
    parser.add_argument(
        "--districts", type=Path, metavar="FILE", help="CSV of districts with monthly climate"
    )
    parser.add_argument("--prices", type=Path, metavar="FILE", help="CSV of prices")
    parser.add_argument(
        "--explain",
        nargs="?",
        const=True,
        type=_day,
        metavar="DATE",
        help="of one card, the whole chain of that day's water with equations and sources",
    )
    plan_files.add_options(parser)


def run(arguments: argparse.Namespace) -> int:
    """Plan the cards that were given."""
    settings = settings_from_environment()
    prices = arguments.prices or settings.prices
    districts = arguments.districts or districts_file(settings)
    loaded = load_tables(districts, prices, invented_prices=False)
    day = arguments.today or utc_now().date()
    planner = _Planner(loaded.tables, day, arguments.emitters)
    code = _run(planner, arguments, settings.fonts_dir)
    if planner.used_districts and loaded.notice:
        warn(loaded.notice)
    return code


def _run(planner: _Planner, arguments: argparse.Namespace, fonts_dir: Path) -> int:
    many = arguments.card == STANDARD_INPUT or arguments.card.endswith(".jsonl")
    if many and (arguments.explain or plan_files.wanted(arguments)):
        raise OneCardOnly("--explain, --ics, --svg and --pdf take one card, in a file of its own")
    if arguments.card == STANDARD_INPUT:
        return _each_line(planner, _cards_of(sys.stdin))
    if many:
        return _each_line(planner, read_text(Path(arguments.card)).splitlines())
    return _one(planner, read_text(Path(arguments.card)), arguments, fonts_dir)


class _Planner:
    """Plans texts of cards with one set of tables."""

    def __init__(self, tables: Tables, today: date, emitters: bool) -> None:
        self.tables, self.today, self._emitters = tables, today, emitters
        self.used_districts = False

    def plan(self, text: str) -> Plan:
        """Return the plan of a card. Raises CardError, or another error that says why not."""
        return self.planned(read_card(text)).plan

    def planned(self, card: PlotCard) -> advice.Planned:
        """Return the plan of a card that was read, and the minutes of other days."""
        self.used_districts |= card.district is not None and card.climate is None
        return advice.planned(card, self.tables, today=self.today, with_emitters=self._emitters)


def _one(planner: _Planner, text: str, arguments: argparse.Namespace, fonts_dir: Path) -> int:
    try:
        card = read_card(text)
        found = planner.planned(card)
    except CardError as error:
        _explain(error)
        return 2
    plan_files.write_files(arguments, card, found.plan, planner.tables, planner.today, fonts_dir)
    if arguments.explain:
        # Without a day of its own it is the day asked on.
        day = planner.today if arguments.explain is True else arguments.explain
        tell(_chains(planner, card, found, day, as_json=arguments.json))
        return 0
    plan = found.plan
    tell(plan.model_dump_json(by_alias=True, indent=2) if arguments.json else _table(plan))
    return 0


def _table(plan: Plan) -> str:
    return "\n\n".join([advice.plan_table(plan), *advice.crop_tables(plan)])


def _chains(
    planner: _Planner, card: PlotCard, found: advice.Planned, day: date, *, as_json: bool
) -> str:
    chains = advice.chains(card, found, planner.tables, day, planner.today)
    if as_json:
        return json.dumps([asdict(chain) for chain in chains], ensure_ascii=False, indent=2)
    return "\n\n".join(chain.text for chain in chains) or "The card names no crop."


def _each_line(planner: _Planner, lines: Iterable[str]) -> int:
    code = 0
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            tell(planner.plan(line).model_dump_json(by_alias=True))
        except LitrelineError as error:
            code = 2
            _explain(error, f"line {number}: ")
            tell(json.dumps({"line": number, "error": str(error)}, ensure_ascii=False))
    return code


def _cards_of(stream: TextIO) -> Iterator[str]:
    """Yield the lines of a stream, or all of it when its first line is not a whole card."""
    first = stream.readline()
    try:
        json.loads(first or "null")
    except ValueError:
        rest = stream.read()
        # A card over several lines ends in a brace alone; broken lines stay lines.
        whole = first.strip() == "{" or not rest.lstrip().startswith("{")
        yield from [first + rest] if whole else chain([first], rest.splitlines())
    else:
        yield from chain([first], stream)


def _explain(error: LitrelineError, where: str = "") -> None:
    problems = error.problems if isinstance(error, CardError) else (error,)
    for problem in problems:
        warn(f"{where}{problem}")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a day such as 2026-07-01") from None
