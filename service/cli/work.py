"""`litreline work`: what happens by the clock, and what takes longer than a request."""

from __future__ import annotations

import argparse
import signal
import sys
from threading import Event
from types import FrameType
from typing import TYPE_CHECKING

from service.cli.groups import Commands, add_command
from service.cli.output import tell
from service.wiring.build import build
from service.wiring.environment import settings_from_environment
from service.wiring.logs import set_up_logs

if TYPE_CHECKING:
    from service.jobs import Jobs


def add(commands: Commands) -> None:
    """Add the command."""
    parser = add_command(
        commands,
        "work",
        run,
        "do what is due by the clock, and long batches",
        "It writes into the outbox and sends nothing: `serve` or `send` does. Run one, or several"
        " at the same database; each scan and each step of a batch is done by one of them.",
    )
    parser.add_argument(
        "--list", action="store_true", dest="told", help="tell what would be run, then end"
    )


def run(arguments: argparse.Namespace) -> int:
    """Work until told to stop, or only tell."""
    # The engine takes a fifth of a second to load, which no other command should pay.
    from service.wiring.jobs import make_jobs

    settings = settings_from_environment()
    service = build(settings)
    jobs = make_jobs(settings, service)
    for line in jobs.described():
        tell(line)
    if not arguments.told:
        set_up_logs(settings.log)
        service.database.migrate()
        tell("Working; SIGTERM or Ctrl-C ends it after the step under way.")
        sys.stdout.flush()
        _until_told(jobs)
    service.database.close()
    return 0


def _until_told(jobs: Jobs) -> None:
    stop = Event()

    def told(number: int, frame: FrameType | None) -> None:
        stop.set()

    signal.signal(signal.SIGTERM, told)
    signal.signal(signal.SIGINT, told)
    try:
        jobs.run(stop)
    finally:
        jobs.close()
