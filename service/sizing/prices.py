"""A price file: what each part costs in the shops of one place, in one currency.

CSV with the columns `item,price,currency` and, if wished, `unit`; a line that begins with # is a
remark. The unit is the one in which the part is sold (pipes by the metre), and is there only to be
checked against a slip.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

from service.errors import LineProblem, TextFileError
from service.sizing.parts_rules import known_items, unit_of

COLUMNS = ("item", "price", "currency")
COLUMNS_WITH_UNIT = (*COLUMNS, "unit")

_PLAIN_PRICE = re.compile(r"\d{1,12}(\.\d{1,4})?")
_COMMA_PRICE = re.compile(r"\d+,\d+")
_CURRENCY = re.compile(r"[A-Z]{3}")


@dataclass(frozen=True, slots=True)
class PriceList:
    """Prices of parts by key, all in one currency; pipes by the metre."""

    currency: str
    by_item: Mapping[str, float] = field(default_factory=dict)

    def price(self, item: str) -> float | None:
        """Price of one unit of a part, or None when the list does not have it."""
        return self.by_item.get(item)


def read_prices(text: str, file_name: str) -> PriceList:
    """Price list of a CSV text.

    Raises
    ------
    TextFileError
        With every problem and its line: an unknown part (and the nearest known one), a price that
        is negative or not written with a decimal point, a second currency, a part named twice.
    """
    rows = list(_rows(text))
    problems: list[LineProblem] = []
    if not rows or tuple(rows[0][1]) not in (COLUMNS, COLUMNS_WITH_UNIT):
        line = rows[0][0] if rows else 1
        raise TextFileError([LineProblem(file_name, line, _wanted_header())])
    columns = tuple(rows[0][1])
    found: dict[str, float] = {}
    currency = ""
    for line, cells in rows[1:]:
        currency = currency or _currency_of(cells)
        faults = list(_faults(cells, columns, found, currency))
        problems += [LineProblem(file_name, line, fault) for fault in faults]
        if not faults:
            found[cells[0]] = float(cells[1])
    if len(rows) == 1:
        problems.append(LineProblem(file_name, rows[0][0], "no prices stand below the first line"))
    if problems:
        raise TextFileError(problems)
    return PriceList(currency, found)


def _wanted_header() -> str:
    return f"the first line must be {','.join(COLUMNS)} (and ,unit if wished), with commas between"


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Yield line number and cells of each line that is neither empty nor a remark."""
    for number, line in enumerate(text.removeprefix("\ufeff").splitlines(), start=1):
        if line.strip() and not line.lstrip().startswith("#"):
            yield number, [cell.strip() for cell in next(csv.reader([line]))]


def _currency_of(cells: Sequence[str]) -> str:
    named = cells[2] if len(cells) > 2 else ""
    return named if _CURRENCY.fullmatch(named) else ""


def _faults(
    cells: Sequence[str], columns: Sequence[str], found: Mapping[str, float], currency: str
) -> Iterator[str]:
    if len(cells) != len(columns) or (len(cells) == 4 and cells[2].isdigit()):
        yield _miscounted(cells, columns)
        return
    item, price, named = cells[:3]
    if item not in known_items():
        yield _unknown(item)
    elif len(cells) == 4 and cells[3] != unit_of(item):
        yield f"{item} is priced by the {unit_of(item)}, not by {cells[3]!r}"
    if item in found:
        yield f"{item} has a price already; keep one line of the two"
    if not _PLAIN_PRICE.fullmatch(price):
        yield _unreadable(price)
    if not _CURRENCY.fullmatch(named):
        yield f"currency {named!r} is not three capital letters such as {currency or 'KES'}"
    elif named != currency:
        yield f"currency {named} differs from {currency} above; a file has one currency"


def _miscounted(cells: Sequence[str], columns: Sequence[str]) -> str:
    told = f"{len(cells)} columns where {len(columns)} are wanted"
    if len(cells) > 2 and cells[1].isdigit() and cells[2].isdigit():
        return f"{told}: if a decimal comma is meant, write {cells[1]}.{cells[2]} with a point"
    return told


def _unknown(item: str) -> str:
    near = get_close_matches(item, sorted(known_items()), n=1)
    return f"no part is called {item!r}" + (f"; did you mean {near[0]}?" if near else "")


def _unreadable(price: str) -> str:
    if _COMMA_PRICE.fullmatch(price):
        return f"price {price!r}: no comma; a point before decimals (12.50), thousands unmarked"
    if price.startswith("-"):
        return f"price {price!r} is negative"
    return f"price {price!r} is not a plain number such as 12.50"
