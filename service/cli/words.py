"""`litreline words`: the sentences of the service and their translations."""

from __future__ import annotations

import argparse

from service.cli.groups import Commands, add_command
from service.wiring import words


def add(commands: Commands) -> None:
    """Add the command; its own parts are told by `litreline words --help`."""
    parser = add_command(
        commands,
        "words",
        run,
        "extract, update and check the catalogues",
        "Parts: extract, update, check, report LANGUAGE. For a checkout of the project.",
    )
    parser.add_argument("part", metavar="PART", nargs="?", default="check", help="what to do")
    parser.add_argument("rest", nargs=argparse.REMAINDER, metavar="...", help="what the part needs")


def run(arguments: argparse.Namespace) -> int:
    """Hand the rest of the line on."""
    return words.main([arguments.part, *arguments.rest])
