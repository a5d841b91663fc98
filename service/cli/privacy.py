"""`litreline export` and `litreline erase`: what is kept about one number, at its owner's word."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from service.cli.groups import Commands, add_command
from service.cli.output import tell, warn
from service.desk.privacy import Privacy
from service.records import masked, read_number
from service.settings import Settings
from service.wiring.build import Service, build
from service.wiring.demo import KEEPER
from service.wiring.desk import make_jobs_of_desk
from service.wiring.environment import settings_from_environment

_NUMBER = "the phone number; - reads it from the input, so that it stands in no list of commands"


def add(commands: Commands) -> None:
    """Add both commands."""
    exporting = add_command(
        commands,
        "export",
        export,
        "write everything kept about a number as JSON",
        "For its owner, who asked to see it. That it was done stands in the log.",
    )
    exporting.add_argument("number", metavar="NUMBER", help=_NUMBER)
    erasing = add_command(
        commands,
        "erase",
        erase,
        "delete everything kept about a number",
        "For its owner, who asked for it. It cannot be undone; backups keep it until they age.",
    )
    erasing.add_argument("number", metavar="NUMBER", help=_NUMBER)
    erasing.add_argument("--why", required=True, metavar="WORDS", help="who asked for it, and how")
    erasing.add_argument("--yes", action="store_true", help="do it; without this it only tells")


def export(arguments: argparse.Namespace) -> int:
    """Write the JSON to the output."""
    with _opened() as (service, settings):
        phone_id = _phone_id(service, settings, arguments.number)
        if phone_id is None:
            return 1
        tell(_privacy(service, settings).export(KEEPER, phone_id, service.clock()))
    return 0


def erase(arguments: argparse.Namespace) -> int:
    """Delete, or tell what would be."""
    with _opened() as (service, settings):
        phone_id = _phone_id(service, settings, arguments.number)
        if phone_id is None:
            return 1
        if not arguments.yes:
            tell("Nothing was deleted: send the same with --yes. It cannot be undone.")
            return 1
        rows = _privacy(service, settings).erase(KEEPER, phone_id, arguments.why, service.clock())
        tell(f"Deleted {rows} rows.")
    return 0


@contextmanager
def _opened() -> Iterator[tuple[Service, Settings]]:
    settings = settings_from_environment()
    service = build(settings)
    try:
        service.database.check()
        yield service, settings
    finally:
        service.database.close()


def _privacy(service: Service, settings: Settings) -> Privacy:
    return make_jobs_of_desk(service, settings).privacy


def _phone_id(service: Service, settings: Settings, typed: str) -> str | None:
    """Return the id of a number's phone; None, and a word, when nothing is kept about it."""
    number = read_number(sys.stdin.readline() if typed == "-" else typed, settings.region)
    with service.database.unit_of_work() as work:
        phone = work.phones.find(number)
    if phone is None:
        warn(f"nothing is kept about {masked(number)}")
        return None
    return phone.id
