"""CSV in and out: any spreadsheet's dialect is read, no cell that leaves is a formula."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from io import StringIO

from service.channels.messages import readable

DANGEROUS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""A spreadsheet takes a cell that begins so for a formula, whoever wrote it."""
SEPARATORS = (",", ";", "\t")


def harmless(cell: object) -> str:
    """Return a cell as text that no spreadsheet reckons with: behind an apostrophe if need be."""
    text = "" if cell is None else str(cell)
    return f"'{text}" if text.startswith(DANGEROUS) else text


def plain(cell: str) -> str:
    """Return what stood in a cell before `harmless`, without gaps around it."""
    text = cell.lstrip(" ")
    if text.startswith("'") and text[1:2] in DANGEROUS:
        text = text[1:]
    return readable(text).strip()


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return rows under a header, comma between, each cell harmless."""
    written = StringIO()
    writer = csv.writer(written, lineterminator="\r\n")
    writer.writerow([harmless(cell) for cell in header])
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return written.getvalue()


def decoded(raw: bytes) -> str:
    """Return the text of a file. Raises UnicodeDecodeError for what is not UTF-8."""
    return raw.decode("utf-8-sig")


def numbered_rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each row that is not blank with the line of the file on which it begins.

    The separator is the one that the first line has most of. Raises csv.Error for a text that
    is no CSV, such as one with an open quotation.
    """
    first = text.lstrip("\r\n").split("\n", 1)[0]
    separator = max(SEPARATORS, key=first.count)
    reader = csv.reader(StringIO(text, newline=""), delimiter=separator, strict=True)
    line = 1
    for cells in reader:
        if any(cell.strip() for cell in cells):
            yield line, cells
        line = reader.line_num + 1
