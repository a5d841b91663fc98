"""Which letters a font file has: the table `cmap` of OpenType, formats 4 and 12, and no more.

The layout of the table is from memory; the tests hold it to fonts of the machine.
"""

from __future__ import annotations

import struct
from bisect import bisect_left
from collections.abc import Iterable
from itertools import pairwise
from typing import BinaryIO

_COLLECTION = b"ttcf"
_UNICODE = ((3, 10), (0, 4), (0, 6), (3, 1), (0, 3))
"""Platform and encoding of the tables by Unicode, those with all of it first."""


def has_letters(file: BinaryIO, letters: Iterable[str], index: int = 0) -> bool:
    """Tell whether a font file has a sign for every letter; no whole font has none.

    `index` is the place of the font in a file that holds several.
    """
    try:
        spans = _spans(_character_map(file, index))
    except (struct.error, LookupError):
        return False
    ends = [last for _, last in spans]
    for code in map(ord, letters):
        place = bisect_left(ends, code)
        if place == len(spans) or spans[place][0] > code:
            return False
    return True


def _character_map(file: BinaryIO, index: int) -> bytes:
    """Return the best table of characters of a font; raises LookupError without one."""
    place, size = _table(file, index, b"cmap")
    file.seek(place)
    whole = file.read(size)
    (count,) = struct.unpack_from(">2xH", whole)
    found = {
        struct.unpack_from(">HH", whole, 4 + 8 * number): struct.unpack_from(
            ">I", whole, 8 + 8 * number
        )[0]
        for number in range(count)
    }
    start = next((found[kind] for kind in _UNICODE if kind in found), None)
    if start is None:
        raise LookupError("no characters by Unicode")
    return whole[start:]


def _table(file: BinaryIO, index: int, name: bytes) -> tuple[int, int]:
    start = 0
    if file.read(4) == _COLLECTION:
        file.seek(12 + 4 * index)
        (start,) = struct.unpack(">I", file.read(4))
    file.seek(start + 4)
    (count,) = struct.unpack(">H6x", file.read(8))
    for _ in range(count):
        tag, _, place, size = struct.unpack(">4s3I", file.read(16))
        if tag == name:
            return place, size
    raise LookupError(f"no table {name!r}")


def _spans(table: bytes) -> list[tuple[int, int]]:
    """Return the first and last code of each run of characters, in order."""
    (kind,) = struct.unpack_from(">H", table)
    if kind == 12:
        (count,) = struct.unpack_from(">12xI", table)
        return [struct.unpack_from(">II", table, 16 + 12 * number) for number in range(count)]
    if kind != 4:
        raise LookupError(f"characters in format {kind}")
    (twice,) = struct.unpack_from(">6xH", table)
    count = twice // 2
    last = struct.unpack_from(f">{count}H", table, 14)
    first = struct.unpack_from(f">{count}H", table, 16 + twice)
    runs = list(zip(first, last, strict=True))
    if any(before[1] >= after[1] for before, after in pairwise(runs)):
        raise LookupError("runs out of order")
    return runs
