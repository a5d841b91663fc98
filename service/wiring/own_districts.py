"""The deployment's own districts: checked whole, kept in the data dir, read at the next start."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from service.settings import Settings
from service.sizing.climate import District, read_districts
from service.wiring.files import read_text
from service.wiring.keys import make_data_dir
from service.wiring.replacing import replace_file

DISTRICTS_FILE = "districts.csv"


def own_districts(data_dir: Path) -> Path | None:
    """Return the districts that were loaded into the data dir, where any were."""
    path = data_dir / DISTRICTS_FILE
    return path if path.is_file() else None


def districts_file(settings: Settings) -> Path | None:
    """Return the districts in use: those of the setting, else those loaded; None for neither."""
    return settings.districts or own_districts(settings.data_dir)


def load_districts(source: Path, data_dir: Path) -> Mapping[str, District]:
    """Check a table of districts and keep it in the data dir in place of the one before.

    Raises
    ------
    TextFileError
        With every row that must be refused.
    FileTrouble
        The file cannot be read, or not be kept. Either way the old table stays.
    """
    text = read_text(source)
    districts = read_districts(text, source.name)
    make_data_dir(data_dir)
    replace_file(data_dir / DISTRICTS_FILE, text.encode("utf-8"))
    return districts
