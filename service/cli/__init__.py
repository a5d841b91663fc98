"""The commands: one thin file per group."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import metadata

from service.cli import (
    accounts,
    districts,
    migrate,
    network,
    plan,
    privacy,
    send,
    serve,
    talk,
    tidy,
    words,
    work,
)
from service.cli.output import nobody_reads, warn
from service.errors import LitrelineError

GROUPS = (
    plan,
    talk,
    serve,
    send,
    work,
    accounts,
    network,
    migrate,
    tidy,
    privacy,
    districts,
    words,
)
REFUSED = 2
"""Exit code when something that was given cannot be used."""
INTERRUPTED = 130
"""Exit code after Ctrl-C, as shells count it."""


def parser() -> argparse.ArgumentParser:
    """Return the parser of every command."""
    top = argparse.ArgumentParser(
        prog="litreline",
        description="Advice for small gravity-fed drip plots, by phone, page and command line.",
        epilog="Settings are read from the environment; docs/settings.md lists them.",
    )
    top.add_argument("--version", action="version", version=metadata.version("litreline"))
    commands = top.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for group in GROUPS:
        group.add(commands)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0 done, 2 something given cannot be used."""
    arguments = parser().parse_args(argv)
    try:
        code: int = arguments.run(arguments)
        sys.stdout.flush()
    except LitrelineError as error:
        warn(str(error))
        return REFUSED
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        nobody_reads()
        return 0
    return code
