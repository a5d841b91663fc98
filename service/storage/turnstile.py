"""Who may write next to a SQLite file: a queue of the operating system before SQLite's own lock.

A writer whom SQLite turns away sleeps a millisecond, then two, five, ten, while the lock may be
free again after a tenth of one. Waiting at a file lock first, each is woken as the one before
leaves. Nothing relies on it: SQLite's lock still decides, and writers that do not queue here, such
as a migration, only have to wait the old way.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from sqlalchemy import URL

try:
    import fcntl
except ImportError:
    # Not a POSIX system: SQLite's own waiting has to do.
    fcntl = None  # type: ignore[assignment]

_KEY = "turnstile"


class Turnstile:
    """The queue of one database; each connection stands in it for itself."""

    def __init__(self, url: URL) -> None:
        name = url.database
        in_memory = not name or name == ":memory:" or name.startswith("file:")
        self._path = None if in_memory or fcntl is None else Path(f"{name}-queue")

    def enter(self, info: dict[Any, Any]) -> None:
        """Wait for this connection's turn. `info` is kept with the connection."""
        if self._path is None:
            return
        handle = info.get(_KEY)
        if handle is None:
            handle = info[_KEY] = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o600)
        fcntl.flock(handle, fcntl.LOCK_EX)

    def leave(self, info: dict[Any, Any]) -> None:
        """Let the next one in; harmless when this connection never entered."""
        handle = info.get(_KEY)
        if handle is not None:
            fcntl.flock(handle, fcntl.LOCK_UN)

    def forget(self, info: dict[Any, Any]) -> None:
        """Close what this connection holds; closing leaves, too."""
        handle = info.pop(_KEY, None)
        if handle is not None:
            os.close(handle)
