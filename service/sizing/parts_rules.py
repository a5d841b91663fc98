"""The parts table: what each part is called, how it is sold, what to look at in the shop.

A sized part has its trade size at the end of its key: `elbow_25` is for 25 mm pipe, `valve_dn20`
has a 3/4 inch thread, `male_adaptor_25_dn20` leads from the one to the other. The English names
and checks of the table are keys of the catalogue, with placeholders; `sentences` lists them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from itertools import pairwise

from service.phrases import Phrase, Value, say
from service.sizing.csv_table import Row, number, parsed, word

COLUMNS = (
    "item",
    "sizes",
    "second_sizes",
    "unit",
    "coils_m",
    "spare_pct",
    "spare_min",
    "name",
    "check",
    "status",
)
AVOID_COLUMNS = ("key", "sentence", "source")
UNITS = ("piece", "m", "roll")

THREAD_INCHES = {"dn15": "1/2", "dn20": "3/4", "dn25": "1", "dn32": "1 1/4", "dn40": "1 1/2"}
THREAD_INCHES |= {"dn50": "2"}
"""Screw threads by nominal bore, as a shop says them."""

PIPE_THREADS = {16: "dn15", 20: "dn15", 25: "dn20", 32: "dn25", 40: "dn32", 50: "dn40", 63: "dn50"}
"""Thread sold with each outside diameter of plastic pipe [mm]: common practice, no source."""


@dataclass(frozen=True, slots=True)
class PartRule:
    """One row of the parts table.

    Attributes
    ----------
    item : str
        Key without the sizes.
    sizes, second_sizes : tuple of str
        Sizes in which it is sold: outside diameter of pipe or line [mm], or dn and the nominal
        bore [mm] for threads; none when it has no size.
    unit : str
        piece, m or roll.
    coils_m : tuple of float
        Lengths in which metres are sold [m], each a multiple of the one before.
    spare_pct, spare_min : float, int
        Spares on top of what is built in: a share [%] rounded up, but at least so many.
    name, check : str
        English, with placeholders.
    """

    item: str
    sizes: tuple[str, ...]
    second_sizes: tuple[str, ...]
    unit: str
    coils_m: tuple[float, ...]
    spare_pct: float
    spare_min: int
    name: str
    check: str

    def keys(self) -> Iterator[str]:
        """Every key under which this part can stand in a parts list or a price file."""
        for first in self.sizes or ("",):
            for second in self.second_sizes or ("",):
                if first != second or not first:
                    yield "_".join(filter(None, (self.item, first, second)))


def read_part_rules(text: str, file_name: str) -> dict[str, PartRule]:
    """Part rules by key of a CSV table with the columns `COLUMNS`.

    Raises
    ------
    TextFileError
        With every row that cannot be used, its line and why.
    """
    return {rule.item: rule for rule in parsed(text, file_name, COLUMNS, _rule)}


def _rule(row: Row) -> PartRule:
    coils = tuple(float(length) for length in row["coils_m"].split())
    for short, long in pairwise(coils):
        if long <= short or long % short:
            raise ValueError(f"coil lengths must be whole multiples: {short:g} m, then {long:g} m")
    if row["unit"] not in UNITS or (row["unit"] == "m") != bool(coils):
        raise ValueError(f"unit must be one of {', '.join(UNITS)}; m, and only m, needs coils_m")
    word(row, "status")
    return PartRule(
        item=word(row, "item"),
        sizes=tuple(row["sizes"].split()),
        second_sizes=tuple(row["second_sizes"].split()),
        unit=row["unit"],
        coils_m=coils,
        spare_pct=number(row, "spare_pct", 0, 100),
        spare_min=int(number(row, "spare_min", 0, 100)),
        name=word(row, "name"),
        check=word(row, "check"),
    )


def _table(name: str) -> str:
    return resources.files("service.sizing").joinpath("data", name).read_text(encoding="utf-8")


@cache
def part_rules() -> Mapping[str, PartRule]:
    """The table that comes with the package, by key without sizes."""
    return read_part_rules(_table("parts.csv"), "parts.csv")


@cache
def not_to_buy() -> tuple[Phrase, ...]:
    """What not to buy for a low stand, a sentence each."""
    return parsed(
        _table("parts_avoid.csv"),
        "parts_avoid.csv",
        AVOID_COLUMNS,
        lambda row: say(word(row, "sentence")),
    )


@cache
def known_items() -> frozenset[str]:
    """Every key of a part, its sizes included."""
    return frozenset(key for rule in part_rules().values() for key in rule.keys())  # noqa: SIM118


@cache
def _split(item: str) -> tuple[str, tuple[str, ...]]:
    """Return the key without its sizes, and the sizes.

    Raises
    ------
    KeyError
        The table has no such part.
    """
    base = item
    sizes: tuple[str, ...] = ()
    while base not in part_rules():
        base, _, size = base.rpartition("_")
        if not size.removeprefix("dn").isdecimal():
            raise KeyError(item)
        sizes = (size, *sizes)
    return base, sizes


def unit_of(item: str) -> str:
    """The unit in which a part is counted and priced: piece, m or roll."""
    return part_rules()[_split(item)[0]].unit


@cache
def part_name(item: str) -> Phrase:
    """The part as a shop says it."""
    base, sizes = _split(item)
    return say(part_rules()[base].name, **_size_values(sizes))


def part_check(item: str, **measured: Value) -> Phrase:
    """What to look at in the shop before paying.

    `measured` fills the placeholders that the key does not tell: `bore` [mm] for pipes and lines,
    and `spacing` [m], `flow` [L/h] and `head` [m] for lines.
    """
    base, sizes = _split(item)
    return say(part_rules()[base].check, **{**_size_values(sizes), **measured})


def sentences() -> tuple[str, ...]:
    """Every English sentence of the tables, for the catalogue."""
    told = [text for rule in part_rules().values() for text in (rule.name, rule.check)]
    told += [phrase.text for phrase in not_to_buy()]
    return tuple(dict.fromkeys(told))


def _size_values(sizes: tuple[str, ...]) -> dict[str, Value]:
    values: dict[str, Value] = {}
    for name, size in zip(("size", "second"), sizes, strict=False):
        if size in THREAD_INCHES:
            values["thread"] = THREAD_INCHES[size]
        else:
            values[name] = size
    return values
