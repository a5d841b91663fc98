"""Lines of the log: for people or for programs, and never with a phone number in them."""

from __future__ import annotations

import copy
import logging
import re
import sys

from pythonjsonlogger.json import JsonFormatter

_NUMBER = re.compile(r"\+?\d(?:[ -]?\d){8,14}(?!\d)")
_PLAIN = "%(asctime)s %(levelname)s %(name)s: %(message)s"


def without_numbers(record: logging.LogRecord) -> logging.LogRecord:
    """Return a line without whatever looks like a phone number, should it ever hold one.

    Our own lines carry random ids; this is for the words of libraries and of faults. A traceback
    may carry what was sent: of it the kind and the place must do.
    """
    plain = copy.copy(record)
    plain.msg, plain.args = _NUMBER.sub("***", record.getMessage()), None
    if record.exc_info:
        kind, _, trace = record.exc_info
        while trace is not None and trace.tb_next is not None:
            trace = trace.tb_next
        place = f"{trace.tb_frame.f_code.co_filename}:{trace.tb_lineno}" if trace else "?"
        plain.msg += f" [{kind.__name__ if kind else '?'} at {place}]"
        plain.exc_info = plain.exc_text = None
    return plain


class _Plain(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        return super().format(without_numbers(record))


class _Json(JsonFormatter):
    def format(self, record: logging.LogRecord) -> str:
        return super().format(without_numbers(record))


def set_up_logs(style: str) -> None:
    """Write warnings of everybody, and our own notes, to standard error."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(_json() if style == "json" else _Plain(_PLAIN))
    logging.basicConfig(level=logging.WARNING, handlers=[handler], force=True)
    logging.getLogger("litreline").setLevel(logging.INFO)


def _json() -> logging.Formatter:
    named = {"asctime": "at", "levelname": "level", "name": "from"}
    fields = "asctime,levelname,name,message"
    return _Json(fields, style=",", rename_fields=named, json_ensure_ascii=False)
