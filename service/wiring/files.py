"""Where the files of this project lie, and their texts, to be handed down to the parsers.

In a checkout `flows/` and `locales/` stand at the top level; the wheel carries them beside the
code.
"""

from __future__ import annotations

from pathlib import Path

import service
from service.errors import LitrelineError

PACKAGE = Path(service.__file__).parent
CATALOGUE = Path("LC_MESSAGES") / "litreline.po"


class FileTrouble(LitrelineError):
    """A file that is missing or cannot be read."""


def folder(name: str) -> Path:
    """Return a folder that stands at the top of a checkout or inside the installed package."""
    places = (PACKAGE.parent / name, PACKAGE / name)
    # Beside an installed package stand other packages: only a checkout has our pyproject.
    in_checkout = (PACKAGE.parent / "pyproject.toml").is_file()
    place = places[0] if in_checkout else places[1]
    if not place.is_dir():
        raise FileTrouble(f"the folder {name} is missing from {place.parent}")
    return place


def read_text(path: Path) -> str:
    """Return the text of a file in UTF-8. Raises FileTrouble with what is wrong with it."""
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileTrouble(f"{path} is not UTF-8 text (octet {error.start})") from error
    except OSError as error:
        raise FileTrouble(f"{path} cannot be read: {error.strerror}") from error


def flow_files() -> dict[str, str]:
    """Return the conversations: file name to text."""
    files = sorted(folder("flows").glob("*.yaml"))
    return {f"flows/{path.name}": read_text(path) for path in files}


def catalogue_files() -> dict[str, str]:
    """Return the catalogues: language to the text of its .po file."""
    files = sorted(folder("locales").glob(f"*/{CATALOGUE}"))
    return {path.parts[-3]: read_text(path) for path in files}


def scenario_file(name: str) -> Path:
    """Return the path of a file of the invented valley."""
    return PACKAGE / "scenario" / name
