"""`litreline send`: send what waits in the outbox, or tell how it stands."""

from __future__ import annotations

import argparse
import signal
from threading import Event
from types import FrameType

from service.cli.groups import Commands, add_command
from service.cli.output import tell
from service.records import masked
from service.storage import Database
from service.wiring.build import build
from service.wiring.environment import settings_from_environment
from service.wiring.logs import set_up_logs
from service.wiring.sending import SenderLoop, make_loop

MOST_TOLD = 50
"""Messages told by --list."""


def add(commands: Commands) -> None:
    """Add the command."""
    parser = add_command(
        commands,
        "send",
        run,
        "send the texts that wait in the outbox",
        "`serve` does it by itself unless LITRELINE_SEND=no. Several senders may work at one"
        " outbox.",
    )
    parser.add_argument("--once", action="store_true", help="send what is due now, then end")
    parser.add_argument(
        "--list",
        action="store_true",
        dest="told",
        help="send nothing; tell how many messages stand in each state, and those given up",
    )


def run(arguments: argparse.Namespace) -> int:
    """Send until told to stop, or once, or only tell."""
    settings = settings_from_environment()
    if arguments.told:
        database = Database(settings.database_url)
        database.check()
        for line in report(database):
            tell(line)
        database.close()
        return 0
    set_up_logs(settings.log)
    service = build(settings)
    service.database.migrate()
    stop = Event()
    loop = make_loop(settings, service, Event(), stop)
    if arguments.once:
        _once(loop)
    else:
        _until_told(loop, stop)
    service.database.close()
    return 0


def report(database: Database) -> list[str]:
    """How many messages stand in each state, and which were given up, with the last word."""
    with database.unit_of_work() as work:
        counts, given_up = work.outbox.counts(), work.outbox.given_up(MOST_TOLD)
    lines = [f"{state}: {count}" for state, count in sorted(counts.items())]
    for message, number in given_up:
        when = message.settled_at.isoformat(timespec="seconds") if message.settled_at else ""
        lines.append(f"{when} {message.state} {message.kind} to {masked(number)}: {message.reason}")
    return lines or ["the outbox is empty"]


def _once(loop: SenderLoop) -> None:
    while True:
        done = loop.sender.once()
        if done.wait_s:
            loop.stop.wait(done.wait_s)
        elif not done.handled:
            loop.close()
            return


def _until_told(loop: SenderLoop, stop: Event) -> None:
    def told(number: int, frame: FrameType | None) -> None:
        stop.set()
        loop.wake.set()

    signal.signal(signal.SIGTERM, told)
    signal.signal(signal.SIGINT, told)
    loop.run()
