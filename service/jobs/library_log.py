"""What the library logs, among our own lines and without the words of a fault."""

from __future__ import annotations

import logging
import traceback
from pathlib import PurePath


class KindOnly(logging.Filter):
    """Puts an exception's kind and place instead of its words, which may hold a number."""

    def filter(self, record: logging.LogRecord) -> bool:
        if record.exc_info and record.exc_info[1] is not None:
            error = record.exc_info[1]
            record.msg = f"{record.getMessage()} {type(error).__name__} {_place(error)}".strip()
            record.args, record.exc_info, record.exc_text = None, None, None
        return True


def quiet() -> None:
    """Let the library's warnings go where our own lines go, and nothing below a warning."""
    library = logging.getLogger("dbos")
    # Without any handler it would add one of its own, and pass nothing on.
    library.handlers[:] = [logging.NullHandler()]
    library.filters[:] = [KindOnly()]
    library.propagate = True
    library.setLevel(logging.WARNING)


def _place(error: BaseException) -> str:
    frames = traceback.extract_tb(error.__traceback__)
    return f"at {PurePath(frames[-1].filename).name}:{frames[-1].lineno}" if frames else ""
