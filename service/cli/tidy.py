"""`litreline tidy`: give up waiting for late receipts, and delete what is no longer needed."""

from __future__ import annotations

import argparse

from service.channels import age
from service.cli.groups import Commands, add_command
from service.cli.output import tell
from service.storage import Database
from service.wiring.environment import settings_from_environment, utc_now


def add(commands: Commands) -> None:
    """Add the command."""
    add_command(
        commands,
        "tidy",
        run,
        "delete old messages and conversations",
        "What was settled longer ago than LITRELINE_KEEP_DAYS goes; phones, plots and consent"
        " stay. Run it once a day.",
    )


def run(arguments: argparse.Namespace) -> int:
    """Tidy up once and tell what was done."""
    settings = settings_from_environment()
    database = Database(settings.database_url)
    try:
        database.check()
        done = age(database.unit_of_work, utc_now(), settings.keep)
    finally:
        database.close()
    tell(f"messages without a receipt, now unknown: {done.unknown}")
    tell(f"rows of sent messages deleted: {done.outbox}")
    tell(f"texts that came in deleted: {done.inbound}")
    tell(f"conversations deleted: {done.sessions}")
    return 0
