"""The field check: does the water still come out evenly?

Where to put the cups on this layout, how even their water is, how surely that is known from so
few, and what the pipes alone would give at the same emitters. The verdict's bands are those of
Merriam and Keller (from memory, not verified).
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, cast, get_args

from service.errors import OutOfRange
from service.sizing.calibration import Cup
from service.sizing.csv_table import Row, number, parsed, word
from service.sizing.sized import Candidate
from service.sizing.troubles import TroubledBlock, block_of
from service.sizing.uniformity import SCATTER, low_quarter_uniformity, statistical_uniformity
from service.units import MINUTES_PER_HOUR, SECONDS_PER_HOUR, litres_per_hour

Band = Literal["very_good", "good", "fair", "poor"]

MOST_CUPS = 18
CATCH_MINUTES = (6.0, 12.0)
"""Catch 6 minutes: mL times 10 is mL an hour; where that is under 50 mL, 12 minutes (ours)."""
SETTING_MINUTES = 4.0
"""From the first cup set to the last one [min]: our estimate."""
SURE = 1.96
"""Standard deviations within which 95 of 100 such checks fall [-]."""


# --- where the cups go ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class CupRow:
    """Cups along one line, typed together: the line's number and its emitters, from 1."""

    line: int
    emitters: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Sampling:
    """Where cups go: so many lines, so many places on each."""

    lines: int
    places: int
    rows: tuple[CupRow, ...]

    @property
    def cups(self) -> int:
        """Number of cups."""
        return self.lines * self.places

    def places_of(self) -> Iterator[tuple[int, int]]:
        """Line and emitter of each cup, in the order in which they are typed."""
        for row in self.rows:
            for emitter in row.emitters:
                yield row.line, emitter


def samplings(one: Candidate) -> tuple[Sampling, ...]:
    """Ways to sample a layout, the quickest first; none where it has too few emitters.

    First and last line with others between, and on each the first and last emitter with others
    between (Merriam and Keller take 4 lines and 4 places, from memory; the least, 3 and 3, and both
    sides of a main pipe in the middle, are read: Western Australia DPIRD, drip delivery).
    """
    emitters = one.network.emitters_per_line
    return tuple(
        _sampling(one, lines, places)
        for lines, places in _grids(len(one.network.taps), len(one.network.sides))
        if places <= emitters
    )


def _grids(taps: int, sides: int) -> tuple[tuple[int, int], ...]:
    if sides == 2:
        few = ((4, 3), (4, 4)) if taps > 1 else ((2, 4), (2, 8))
        return (*few, (6, 3)) if taps > 2 else few
    if taps > 3:
        return ((3, 3), (4, 4), (6, 3)) if taps > 5 else ((3, 3), (4, 4))
    return {1: ((1, 8), (1, 16)), 2: ((2, 4), (2, 8)), 3: ((3, 3), (3, 4), (3, 6))}[taps]


def _sampling(one: Candidate, lines: int, places: int) -> Sampling:
    network = one.network
    sides = len(network.sides)
    taps = _spread(len(network.taps), max(1, lines // sides))
    numbers = [(tap - 1) * sides + side + 1 for tap in taps for side in range(sides)]
    emitters = _spread(network.emitters_per_line, places)
    at_once = 3 if lines * places == MOST_CUPS else min(places, 4)
    rows = tuple(
        CupRow(line, emitters[first : first + at_once])
        for line in numbers[:lines]
        for first in range(0, places, at_once)
    )
    return Sampling(lines, places, rows)


def _spread(count: int, wanted: int) -> tuple[int, ...]:
    """Return so many numbers from 1 to `count`, both ends among them, evenly spread."""
    if wanted == 1:
        return (1,)
    return tuple(1 + round(step * (count - 1) / (wanted - 1)) for step in range(wanted))


def mark(one: Candidate, emitter: int) -> float:
    """Distance of an emitter from the main pipe [m]."""
    return (emitter - 0.5) * one.network.sides[0].shape.spacing


def catch_level(one: Candidate, start: float, minutes: float) -> float:
    """Mean level above the tank's base while cups are filled [m].

    Parameters
    ----------
    start : float
        Level when the first cup is set [m].
    minutes : float
        That each cup stands [min].
    """
    tank = one.tank
    flow = TroubledBlock(one).running(start).flow
    elapsed = 0.5 * (SETTING_MINUTES + minutes) * SECONDS_PER_HOUR / MINUTES_PER_HOUR
    return max(start - flow * elapsed / tank.area(start), tank.outlet)


# --- how even, and how sure ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Evenness:
    """How evenly the cups were filled.

    Attributes
    ----------
    cups : int
        Number of them.
    mean_ml : float
        Their mean [mL].
    du_pct, us_pct : float
        Low-quarter distribution uniformity and statistical uniformity [%].
    du_within, us_within : float
        Half of the range in which 95 of 100 such checks of the plot would fall [points].
    """

    cups: int
    mean_ml: float
    du_pct: float
    us_pct: float
    du_within: float
    us_within: float


def evenness(volumes: Sequence[float]) -> Evenness:
    """Evenness of volumes caught [mL], two or more of them, not all dry."""
    du, us = low_quarter_uniformity(volumes), statistical_uniformity(volumes)
    within = us_within(us, len(volumes))
    return Evenness(len(volumes), statistics.fmean(volumes), du, us, SCATTER * within, within)


def us_within(us_pct: float, cups: int) -> float:
    """Half width [points] of the 95 % range of a statistical uniformity from so many cups.

    Of a coefficient of variation v from n readings of a normal scatter: v sqrt((1 + 2 v²) / 2n)
    (textbook form, from memory).
    """
    if cups < 2:
        raise OutOfRange("number of cups", cups, 2, math.inf)
    variation = 1.0 - us_pct / 100.0
    return 100.0 * SURE * variation * math.sqrt((1.0 + 2.0 * variation**2) / (2.0 * cups))


def reckoned_du(one: Candidate, sampling: Sampling, level: float) -> float:
    """Low-quarter uniformity [%] that new emitters would give in these cups.

    Pipes and ground spread the flows as computed, and the make of the emitters spreads them again.
    """
    flows = reckoned_flows(one, sampling, level)
    mean = statistics.fmean(flows)
    spread = statistics.pstdev(flows) / mean if mean > 0.0 else 1.0
    return max(0.0, 100.0 * (1.0 - SCATTER * math.hypot(spread, one.card.dripline.cv)))


def reckoned_flows(one: Candidate, sampling: Sampling, level: float) -> tuple[float, ...]:
    """Flow [L/h] of the emitter over each cup, each line's block running alone."""
    running = {
        block: TroubledBlock(one, block=block).running(level)
        for block in {block_of(one, row.line) for row in sampling.rows}
    }
    flows = {
        row.line: running[block_of(one, row.line)].emitter_flows(row.line) for row in sampling.rows
    }
    return tuple(
        litres_per_hour(flows[line][emitter - 1]) for line, emitter in sampling.places_of()
    )


def cups_of(sampling: Sampling, volumes: Sequence[float]) -> tuple[Cup, ...]:
    """Cups with their places; ValueError when their numbers differ."""
    return tuple(
        Cup(line, emitter, volume)
        for (line, emitter), volume in zip(sampling.places_of(), volumes, strict=True)
    )


def expected_ml(flow_lph: float, minutes: float) -> float:
    """What a cup holds [mL] after so many minutes under an emitter [L/h]."""
    return flow_lph * 1000.0 * minutes / MINUTES_PER_HOUR


# --- the verdict ---------------------------------------------------------------------------------

COLUMNS = ("measure", "band", "from_pct", "to_pct", "source")


@dataclass(frozen=True, slots=True)
class BandLimits:
    """One band of a verdict [%] and whose it is."""

    band: Band
    low: float
    high: float
    source: str


def read_bands(text: str, file_name: str) -> tuple[BandLimits, ...]:
    """Bands of the low-quarter uniformity, the best first.

    Raises
    ------
    TextFileError
        A column is missing or a value cannot be used; every problem with its line.
    """

    def band(row: Row) -> BandLimits:
        name = word(row, "band")
        if name not in get_args(Band):
            raise ValueError(f"band must be one of {', '.join(get_args(Band))}, not {name!r}")
        low, high = (number(row, column, 0, 100) for column in ("from_pct", "to_pct"))
        return BandLimits(cast(Band, name), low, high, word(row, "source"))

    return tuple(sorted(parsed(text, file_name, COLUMNS, band), key=lambda row: -row.low))


@dataclass(frozen=True, slots=True)
class Verdict:
    """The band of a check, and the other one in which the plot may well lie."""

    band: Band
    maybe: Band | None


def verdict(found: Evenness, bands: Sequence[BandLimits]) -> Verdict:
    """Band of a check; near an edge the band beyond it may be the true one."""
    own = _band(found.du_pct, bands)
    low, high = found.du_pct - found.du_within, found.du_pct + found.du_within

    def away(limits: BandLimits) -> float:
        return min(abs(limits.low - found.du_pct), abs(limits.high - found.du_pct))

    others = [each for each in bands if each is not own and each.low <= high and each.high >= low]
    nearest = min(others, key=away, default=None)
    return Verdict(own.band, None if nearest is None else nearest.band)


def _band(du_pct: float, bands: Sequence[BandLimits]) -> BandLimits:
    held = min(max(du_pct, 0.0), 100.0)
    return next(limits for limits in bands if held >= limits.low)
