"""Run the steps of the schema by Alembic.

Apart from `migrate`, which needs this only when there is something to do: loading Alembic costs
a command a quarter of a second.
"""

from __future__ import annotations

from pathlib import Path
from threading import Lock

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection

# Alembic keeps the step that it runs where every thread sees it.
_ONE_AT_A_TIME = Lock()


def upgrade(connection: Connection, folder: Path, kept: str | None) -> None:
    """Bring a database up to the last step, in the transaction that the connection is in.

    `kept` is the step at which it stands, also where an earlier release noted it in its own way.
    """
    config = Config()
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    config.attributes["connection"] = connection
    with _ONE_AT_A_TIME:
        if kept is not None:
            command.stamp(config, kept)
        command.upgrade(config, "head")
