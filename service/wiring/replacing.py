"""Writing a file so that a reader finds either the old one or the new one, never half of one."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from service.wiring.files import FileTrouble


def replace_file(path: Path, content: bytes, mode: int = 0o644) -> None:
    """Put a file in place of another in one step, and on disk before that.

    Raises FileTrouble when it cannot be written; the old file then stays as it was.
    """
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    except OSError as error:
        raise FileTrouble(f"cannot write {path}: {error.strerror}") from error
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fchmod(file.fileno(), mode)
            os.fsync(file.fileno())
        os.replace(name, path)  # noqa: PTH105  the step that cannot be seen half done
        _settle(path.parent)
    except OSError as error:
        Path(name).unlink(missing_ok=True)
        raise FileTrouble(f"cannot write {path}: {error.strerror}") from error


def _settle(folder: Path) -> None:
    """Have the folder's new entry on disk too, so that a power cut does not bring the old back."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
