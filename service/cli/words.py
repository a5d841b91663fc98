"""`litreline words`: the sentences of the service and their translations."""

from __future__ import annotations

import argparse

from service.cli.groups import Commands, add_command
from service.wiring import languages_page, words


def add(commands: Commands) -> None:
    """Add the command; its own parts are told by `litreline words --help`."""
    parser = add_command(
        commands,
        "words",
        run,
        "extract, update and check the catalogues",
        "Parts: extract, update, check, report LANGUAGE, languages. A language's code alone"
        " reports what is missing, too long or unreviewed. For a checkout of the project.",
    )
    parser.add_argument(
        "part", metavar="PART|LANGUAGE", nargs="?", default="check", help="what to do"
    )
    parser.add_argument("rest", nargs=argparse.REMAINDER, metavar="...", help="what the part needs")


def run(arguments: argparse.Namespace) -> int:
    """Hand the rest of the line on."""
    if arguments.part == "languages":
        return languages_page.main(arguments.rest)
    return words.main([arguments.part, *arguments.rest])
