"""Every part from the tank's outlet to the end of the last line, counted and priced.

Layouts are ranked by `layout_cost` or `parts_count`, which only add up; `parts_list` makes the
rows of a plan. From the tank on: tank connector, elbow, down pipe, and at its foot, where nobody
need climb, the valve and the screen filter; an elbow; the submain (its blocks: see `laying`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from service.phrases import Number, Phrase, Value, say, say_n
from service.sizing.card import PlotCard
from service.sizing.coils import Coils, coils_for_lines, coils_for_run
from service.sizing.laying import Laying, laying, laying_of
from service.sizing.parts_rules import PIPE_THREADS, part_name, part_rules, unit_of
from service.sizing.pipes import PipeSize
from service.sizing.plain import plain_english
from service.sizing.prices import PriceList, read_prices
from service.sizing.result import Coil, Layout, PartLine

__all__ = [
    "Laying",
    "PartCount",
    "PartsTotal",
    "PriceList",
    "laying",
    "laying_of",
    "layout_cost",
    "part_counts",
    "part_note",
    "parts_count",
    "parts_list",
    "parts_total",
    "read_prices",
]

THREADS_A_ROLL = 10
"""Screw threads that a roll of thread tape wraps: common practice, no source."""


@dataclass(frozen=True, slots=True)
class PartCount:
    """How many of one part to buy.

    Attributes
    ----------
    item : str
        Key with its sizes.
    quantity : float
        Pieces or rolls with the spare ones, or metres in whole coils; always whole.
    spare : int
        How many of the pieces are spare.
    coils : Coils or None
        Of what is sold by the metre.
    """

    item: str
    quantity: float
    spare: int = 0
    coils: Coils | None = None


@dataclass(frozen=True, slots=True)
class PartsTotal:
    """Cost of a whole list.

    Attributes
    ----------
    currency : str
        As the price file has it; empty when there are no prices.
    total : float or None
        Sum of all rows, known only when every row has its price.
    missing : tuple of str
        Keys of the parts that have no price.
    """

    currency: str
    total: float | None
    missing: tuple[str, ...]


# Asked for the count and for the cost of the same layouts, again and again while ranking.
@lru_cache(maxsize=1024)
def part_counts(laying: Laying) -> tuple[PartCount, ...]:
    """Every part with its count, in the order in which water meets it, tools last."""
    return (
        *_merged(
            (*_at_tank(laying), *_pipe(laying.pipe, laying.pipe_m), *_beyond_change(laying)),
            _at_blocks(laying),
        ),
        *_lines(laying),
        *_tools(laying),
    )


def _at_tank(laying: Laying) -> Iterator[PartCount]:
    pipe, thread = laying.pipe, laying.thread
    yield PartCount(f"tank_connector_{thread}", 1)
    # Into the tank connector and into the valve; without a filter, out of the valve too.
    yield PartCount(f"male_adaptor_{pipe}_{thread}", 2 if laying.filter else 3)
    yield PartCount(f"elbow_{pipe}", 2)
    yield PartCount(f"valve_{thread}", 1)
    if laying.filter:
        yield PartCount(f"screen_filter_{thread}", 1)
        yield PartCount(f"female_adaptor_{pipe}_{thread}", 1)


def _pipe(size: int, length_m: float) -> Iterator[PartCount]:
    run = coils_for_run(length_m, part_rules()["submain_pipe"].coils_m)
    yield PartCount(f"submain_pipe_{size}", run.bought_m, coils=run)
    spare = _spare("pipe_joiner", run.joints)
    yield PartCount(f"pipe_joiner_{size}", run.joints + spare, spare)


def _beyond_change(laying: Laying) -> Iterator[PartCount]:
    if laying.second:
        yield PartCount(f"reducer_{laying.pipe}_{laying.second}", laying.reducers)
        yield from _pipe(laying.second, laying.second_m)


def _at_blocks(laying: Laying) -> Iterator[PartCount]:
    """Yield what each block wants beside its lines: a way off the submain, a valve and an end."""
    last = len(laying.starts) - 1
    for number, (start, end) in enumerate(zip(laying.starts, laying.ends, strict=True)):
        if number < last:
            yield PartCount(f"tee_{start}", 1)
            yield PartCount(f"elbow_{start}", 1)
        if last:
            thread = PIPE_THREADS.get(start, laying.thread)
            yield PartCount(f"valve_{thread}", 1)
            yield PartCount(f"male_adaptor_{start}_{thread}", 2)
        yield PartCount(f"pipe_end_{end}", 1)


def _lines(laying: Laying) -> Iterator[PartCount]:
    names = (
        ("tape_take_off", "drip_tape", "tape_end", "tape_joiner")
        if laying.tape
        else ("take_off", "dripline", "line_end", "line_joiner")
    )
    take_off, line, end, joiner = names
    coils = coils_for_lines(laying.line_count, laying.line_length_m, part_rules()[line].coils_m)
    yield _with_spares(take_off, laying.line, laying.line_count)
    yield PartCount(f"{line}_{laying.line}", coils.bought_m, coils=coils)
    yield _with_spares(end, laying.line, laying.line_count)
    spare = _spare(joiner, laying.line_count)
    yield PartCount(f"{joiner}_{laying.line}", coils.joints + spare, spare)


def _tools(laying: Laying) -> Iterator[PartCount]:
    plugs = _spare("goof_plug", laying.line_count)
    yield PartCount("goof_plug", plugs, plugs)
    yield PartCount("hole_punch", 1)
    threads = (4 if laying.filter else 3) + (2 * len(laying.starts) if laying.starts[1:] else 0)
    yield PartCount("thread_tape", math.ceil(threads / THREADS_A_ROLL))
    yield PartCount("tank_strap", 1)


def _with_spares(rule: str, size: int, used: int) -> PartCount:
    spare = _spare(rule, used)
    return PartCount(f"{rule}_{size}", used + spare, spare)


def _spare(rule_name: str, used: int) -> int:
    rule = part_rules()[rule_name]
    return max(rule.spare_min, math.ceil(rule.spare_pct * used / 100.0 - 1e-9))


def _merged(counts: Sequence[PartCount], more: Iterator[PartCount]) -> Iterator[PartCount]:
    """Yield all parts, each once: what comes again is added to the row that it has."""
    found = {count.item: count for count in counts}
    for count in more:
        known = found.get(count.item)
        total = count.quantity + (known.quantity if known else 0)
        found[count.item] = PartCount(count.item, total)
    yield from found.values()


def parts_count(laying: Laying) -> int:
    """Things to buy and carry: pieces and rolls, and coils for what is sold by the metre."""
    return sum(c.coils.coil_count if c.coils else int(c.quantity) for c in part_counts(laying))


def layout_cost(laying: Laying, prices: PriceList | None) -> float | None:
    """Cost of all parts in the currency of the price list; None when any price is missing."""
    if prices is None:
        return None
    total = 0.0
    for count in part_counts(laying):
        price = prices.by_item.get(count.item)
        if price is None:
            return None
        total += round(price * count.quantity, 2)
    return round(total, 2)


def parts_list(
    card: PlotCard, layout: Layout, pipes: Sequence[PipeSize], prices: PriceList | None
) -> tuple[PartLine, ...]:
    """Rows of the parts list of a layout, in the order in which water meets the parts.

    Parameters
    ----------
    card : PlotCard
        The plot.
    layout : Layout
        The layout that is laid.
    pipes : sequence of PipeSize
        The pipe table: bores become sizes as a shop says them.
    prices : PriceList or None
        Where it has a part's price, the row has unit price and cost.
    """
    return tuple(_row(count, prices) for count in part_counts(laying_of(card, layout, pipes)))


def _row(count: PartCount, prices: PriceList | None) -> PartLine:
    price = prices.price(count.item) if prices is not None else None
    coils = count.coils
    row = PartLine(
        item=count.item,
        name=plain_english(part_name(count.item)),
        quantity=count.quantity,
        unit=unit_of(count.item),
        unit_price=price,
        cost=None if price is None else round(price * count.quantity, 2),
        spare=count.spare,
        needed_m=None if coils is None else round(coils.needed_m, 3),
        coils=() if coils is None else _coil_rows(coils),
    )
    note = part_note(row)
    return row if note is None else row.model_copy(update={"note": plain_english(note)})


def _coil_rows(coils: Coils) -> tuple[Coil, ...]:
    return tuple(
        Coil(length_m=length, count=count, lines_each=coils.pieces_each(length))
        for length, count in coils.counts
    )


def part_note(line: PartLine) -> Phrase | None:
    """What stands beside a row: its coils and what is left over, or how many are spare."""
    if line.coils and line.needed_m is not None:
        return say(
            "{coils}; {needed} m used, {left} m left",
            coils=tuple(_coil(coil) for coil in line.coils),
            needed=Number(line.needed_m, 1),
            left=Number(line.quantity - line.needed_m, 1),
        )
    if 0 < line.spare < line.quantity:
        return say_n("{n} is spare", "{n} are spare", count="n", n=line.spare)
    return say("spare") if line.spare else None


def _coil(coil: Coil) -> Phrase:
    values: dict[str, Value] = {"n": coil.count, "length": Number(coil.length_m)}
    if not coil.lines_each:
        return say_n("{n} coil of {length} m", "{n} coils of {length} m", count="n", **values)
    return say_n(
        "{n} coil of {length} m (lines from it: {lines})",
        "{n} coils of {length} m (lines from each: {lines})",
        count="n",
        lines=coil.lines_each,
        **values,
    )


def parts_total(lines: Sequence[PartLine], prices: PriceList | None) -> PartsTotal:
    """Cost of a parts list, and what has no price."""
    missing = tuple(line.item for line in lines if line.cost is None)
    total = None if missing else round(sum(line.cost or 0.0 for line in lines), 2)
    return PartsTotal(prices.currency if prices is not None else "", total, missing)
