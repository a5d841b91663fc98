"""The first steps of the schema as they were released: SQL files, run by the step of their name."""

from __future__ import annotations

import re
from importlib import resources

from alembic import op


def run(name: str) -> None:
    """Run the statements of one file; one text for both databases."""
    text = (resources.files("service.storage") / "migrations" / name).read_text("utf-8")
    connection = op.get_bind()
    for statement in statements(text):
        connection.exec_driver_sql(statement)


def statements(text: str) -> tuple[str, ...]:
    """Return the statements of a file that has no semicolon within one."""
    bare = re.sub(r"--[^\n]*", "", text)
    return tuple(part.strip() for part in bare.split(";") if part.strip())
