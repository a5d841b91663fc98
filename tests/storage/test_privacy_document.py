"""The document on what is kept about people names every table there is, and no other."""

import re
from pathlib import Path

from service.storage import Database
from service.storage.tables import metadata

DOCUMENT = Path(__file__).parents[2] / "docs" / "privacy.md"
OF_NOBODY = {"schema_version"}
"""Only the release of the schema."""


def test_every_table_stands_in_the_document():
    assert Database  # Its module brings in every table.
    rows = re.findall(r"^\| ((?:`\w+`(?:, )?)+) \|", DOCUMENT.read_text(), re.M)
    told = {name for row in rows for name in re.findall(r"`(\w+)`", row)}
    assert told == set(metadata.tables) - OF_NOBODY
