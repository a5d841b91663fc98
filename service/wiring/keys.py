"""Random ids and passwords, and the key that signs cookies, kept in the data dir."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from service.wiring.files import FileTrouble, read_text

KEY_FILE = "secret_key"
_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Without letters and digits that look alike when they are copied by hand."""


def new_id() -> str:
    """Return a random id that nobody can guess."""
    return secrets.token_hex(16)


def random_password() -> str:
    """Return a password of 16 letters in groups of four: 79 bits, and easy to copy."""
    groups = ("".join(secrets.choice(_LETTERS) for _ in range(4)) for _ in range(4))
    return "-".join(groups)


def secret_key(given: str, data_dir: Path) -> str:
    """Return the key given, else the one kept in the data dir, made there at first use."""
    if given:
        return given
    path = data_dir / KEY_FILE
    _make_once(path)
    key = read_text(path).strip()
    if not key:
        raise FileTrouble(f"{path} is empty: remove it, and a new key is made")
    return key


def make_data_dir(data_dir: Path) -> None:
    """Make the data dir when it is missing. Raises FileTrouble when that is not possible."""
    try:
        data_dir.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise FileTrouble(f"cannot make the data dir {data_dir}: {error.strerror}") from error


def _make_once(path: Path) -> None:
    """Write a new key unless there is one; of two that start at once one wins."""
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return
    except OSError as error:
        raise FileTrouble(f"cannot write {path}: {error.strerror}") from error
    # So short a text is written in one piece, right after the file appears.
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(secrets.token_hex(32))
