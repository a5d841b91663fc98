"""`litreline migrate`: bring the database to the schema of this release."""

from __future__ import annotations

import argparse

from service.cli.groups import Commands, add_command
from service.cli.output import tell
from service.storage import Database
from service.wiring.environment import settings_from_environment
from service.wiring.keys import make_data_dir


def add(commands: Commands) -> None:
    """Add the command."""
    add_command(
        commands,
        "migrate",
        run,
        "bring the database up to date",
        "Each step is applied once; running it again does nothing. `serve` does it by itself.",
    )


def run(arguments: argparse.Namespace) -> int:
    """Apply the steps that are missing, and tell them."""
    settings = settings_from_environment()
    make_data_dir(settings.data_dir)
    database = Database(settings.database_url)
    try:
        applied = database.migrate()
    finally:
        database.close()
    for name in applied:
        tell(f"applied {name}")
    tell(f"{database} is up to date")
    return 0
