"""What `litreline plan` can write beside its answer: calendar, drawing, sheet."""

from __future__ import annotations

import argparse
from datetime import date
from functools import partial
from pathlib import Path

from service import advice
from service.advice.warning_words import warning_phrases
from service.drawing import installer_sheet_pdf, plan_svg
from service.drawing.paper import Labels
from service.errors import LitrelineError
from service.sizing.calendar import calendar_entries, icalendar_text
from service.sizing.card import PlotCard
from service.sizing.cases import plantings
from service.sizing.result import Plan
from service.sizing.tables import Tables
from service.text.catalogues import Catalogues
from service.text.languages import LANGUAGES, SOURCE_LANGUAGE, language_of
from service.wiring.environment import utc_now
from service.wiring.files import catalogue_files
from service.wiring.fonts import sheet_fonts
from service.wiring.replacing import replace_file


class NothingToWater(LitrelineError):
    """A card of which no calendar can be made."""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the options that name files to write."""
    for option, what in (
        ("--ics", "also write a calendar of watering and upkeep (iCalendar)"),
        ("--svg", "also draw the plan to scale, as SVG"),
        ("--pdf", "also write the installer's A4 sheet, as PDF"),
    ):
        parser.add_argument(option, type=Path, metavar="FILE", help=f"of one card, {what}")
    parser.add_argument(
        "--language",
        choices=sorted(LANGUAGES),
        default=SOURCE_LANGUAGE,
        help="of the words in these files; English without it",
    )


def wanted(arguments: argparse.Namespace) -> bool:
    """Tell whether any file is asked for."""
    return bool(arguments.ics or arguments.svg or arguments.pdf)


def write_files(
    arguments: argparse.Namespace,
    card: PlotCard,
    plan: Plan,
    tables: Tables,
    today: date,
    fonts_dir: Path,
) -> None:
    """Write the files that were asked for.

    Raises
    ------
    LitrelineError
        A file that cannot be written, a calendar with nothing in it, or no font for the language.
    """
    language = language_of(arguments.language)
    labels = partial(Catalogues(catalogue_files()).translate, language=language.code)
    if arguments.ics:
        _write_calendar(arguments.ics, card, plan, tables, today, labels)
    if not (arguments.svg or arguments.pdf):
        return
    # The strip of shares needs the flow of every emitter, which the answer need not carry.
    drawn = advice.plan(card, tables, today=today, with_emitters=True)
    if arguments.svg:
        drawing = plan_svg(card, drawn, labels, direction=language.direction)
        replace_file(arguments.svg, drawing.encode("utf-8"))
    if arguments.pdf:
        currency = tables.prices.currency if tables.prices is not None else ""
        notes = warning_phrases(drawn.warnings)
        sheet = installer_sheet_pdf(
            card,
            drawn,
            labels,
            notes=notes,
            currency=currency,
            language=language.code,
            fonts=sheet_fonts(fonts_dir, language),
        )
        replace_file(arguments.pdf, sheet)


def _write_calendar(
    path: Path, card: PlotCard, plan: Plan, tables: Tables, today: date, labels: Labels
) -> None:
    entries = calendar_entries(plan, plantings(card, tables, today), today)
    if not entries:
        raise NothingToWater("no calendar: the card names no crop, or its season is over")
    plot = card.model_dump_json(exclude_unset=True)
    replace_file(path, icalendar_text(entries, plot, utc_now(), labels))
