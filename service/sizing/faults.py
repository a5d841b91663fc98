"""What is wrong on a plot, judged by its own hydraulics from one or two simple measurements.

Where two causes explain a weak cup alike, both are put into the network and each foretells the
bottle at an open line end; the one that comes nearer to what was measured is named, or neither
when they foretell the same.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from service.errors import OutOfRange
from service.sizing.card import PlotCard
from service.sizing.csv_table import Row, parsed, word
from service.sizing.field_plot import (
    CUP_ML,
    SCATTERED,
    SECONDS,
    Bottle,
    FieldPlot,
    Level,
    Reckoned,
    bottle_seconds,
    cup_flow,
    reckoned_minutes,
    running,
    with_bore,
)
from service.sizing.sized import Candidate
from service.sizing.troubles import NONE_AT_ALL, Trouble
from service.units import MINUTES_PER_HOUR, SECONDS_PER_HOUR, cubic_metres, litres

Nearer = Literal["first", "second", "unclear"]

APART = 1.2
"""Two causes that foretell times closer together than this are not told apart [-]: our choice."""
HALF_WAY = (0.4, 0.6)
"""Between these shares of the way from one to the other nothing is named [-]: our choice."""
SLOW = 6.0
"""A foretold time so many times as long as the other counts as no more than that [-]: no bore that
was only guessed makes a free line two and a half times as slow."""
DESIGN_SHARE = 0.8
"""A far end with less than this share is short by the layout itself: flow variation above 20 %."""
PATIENCE_S = 600.0
"""Who holds a bottle for longer says that no water comes [s]: our estimate."""
DROP_READING_M = 0.005
"""How well the fall of a water line on a tank is read [m]: our estimate."""
TIGHTEST_K = 1e9
FIRST = 1
"""The line and the emitter nearest to the tank."""


# --- weak everywhere -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WeakCup:
    """A cup that holds less than reckoned, under the first emitter of the first line."""

    millilitres: float
    minutes: float
    level: Level

    @property
    def flow(self) -> float:
        """Flow [L/h]; a dry cup counts as half of what can be read."""
        return max(self.millilitres, 0.5 * CUP_ML) / 1000.0 * MINUTES_PER_HOUR / self.minutes


def throttled(plot: FieldPlot, cup: WeakCup) -> Trouble:
    """Loss between tank and lines that alone would leave the cup as weak as it is."""

    def flow(loss: float) -> float:
        return cup_flow(plot.one, FIRST, FIRST, cup.level.at, Trouble(inlet_k=loss))

    return Trouble(inlet_k=_fitted(flow, cup.flow, TIGHTEST_K))


def clogged(plot: FieldPlot, cup: WeakCup) -> Trouble:
    """Share of their flow that alone, left in all emitters, would leave the cup so weak."""
    usual = cup_flow(plot.one, FIRST, FIRST, cup.level.at)
    return Trouble(share=min(1.0, cup.flow / usual) if usual > 0.0 else 1.0)


def weak_by_bottle(plot: FieldPlot, cup: WeakCup, bottle: Bottle) -> Nearer:
    """Whether the loss lies before the lines (first) or in the emitters (second).

    The bottle stands at the open end of the first line.
    """
    before, emitters = (
        bottle_seconds(plot.one, FIRST, cup.level.at, bottle.volume_l, trouble)
        for trouble in (throttled(plot, cup), clogged(plot, cup))
    )
    return nearer(bottle.seconds, before, emitters)


def nearer(measured: float, first: float, second: float) -> Nearer:
    """Which of two foretold times [s] is the nearer one, as a ratio; `second` is the shorter.

    Unclear when they are hardly apart, or when the measured one lies about half way.
    """
    if measured <= 0.0 or math.isinf(measured):
        return "first"
    if first < APART * second:
        return "unclear"
    reach = math.log(min(first / second, SLOW))
    share = math.log(measured / second) / reach
    if HALF_WAY[0] < share < HALF_WAY[1]:
        return "unclear"
    return "first" if share > 0.5 else "second"


def filter_costs(plot: FieldPlot, level: Level, inside: float, outside: float) -> bool:
    """Whether a bottle fills so much sooner with the filter's element out that it must be dirty.

    Parameters
    ----------
    inside, outside : float
        Seconds of the same bottle with the element in and out [s]; 0 when nothing came.
    """
    if outside <= 0.0:
        return False
    # A trickle is told as no water: what fills hardly within the same patience is a trickle too.
    inside = inside if inside > 0.0 else PATIENCE_S
    with_it, without = (
        bottle_seconds(plot.one, FIRST, level.at, 1.0, trouble)
        for trouble in (Trouble(), Trouble(filter_out=True))
    )
    clean = with_it / without
    read = SECONDS * math.hypot(1.0 / inside, 1.0 / outside)
    return inside / outside > clean * (1.0 + read)


# --- weak at the far end -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TwoCups:
    """Water caught at the first and at the last emitter of one line at the same time [mL]."""

    place: int
    first: float
    last: float
    level: Level

    @property
    def share(self) -> float:
        """What the far end gets of what the near end gets [-]."""
        return self.last / self.first if self.first > 0.0 else 0.0


def reckoned_share(plot: FieldPlot, cups: TwoCups) -> Reckoned:
    """Share [-] that the last emitter of the line should get of what the first one gets.

    Both cups are of one line, so that neither the level nor the calibration matters much.
    """
    shares = [_share(plot.one, line, cups.level.at) for line in plot.lines_at(cups.place)]
    least = _share(with_bore(plot.one, plot.narrow), plot.lines_at(cups.place)[0], cups.level.at)
    read = CUP_ML / cups.first if cups.first > 0.0 else 1.0
    make = math.hypot(math.sqrt(2.0) * SCATTERED * plot.cv, math.sqrt(2.0) * read)
    return Reckoned(
        min(*shares, least) * (1.0 - make),
        sum(shares) / len(shares),
        max(shares) * (1.0 + make),
    )


def _share(one: Candidate, line: int, level: float, trouble: Trouble = NONE_AT_ALL) -> float:
    flows = running(one, line, level, trouble).emitter_flows(line)
    return flows[-1] / flows[0] if flows[0] > 0.0 else 0.0


def far_by_bottle(plot: FieldPlot, cups: TwoCups, bottle: Bottle) -> Nearer:
    """Whether the line is pinched (first) or free, with blocked emitters at its end (second)."""
    line = plot.lines_at(cups.place)[0]
    middle = max(2, plot.one.network.emitters_per_line // 2)
    level = cups.level.at

    def share(loss: float) -> float:
        pinch = Trouble().with_line(line, pinch=(middle, loss))
        return _share(plot.one, line, level, pinch)

    loss = _fitted(share, max(cups.share, 0.005), TIGHTEST_K)
    pinched = Trouble().with_line(line, pinch=(middle, loss))
    return nearer(
        bottle.seconds,
        bottle_seconds(plot.one, line, level, bottle.volume_l, pinched),
        bottle_seconds(plot.one, line, level, bottle.volume_l),
    )


def _fitted(computed: Callable[[float], float], wanted: float, most: float) -> float:
    """Return the loss at which a falling `computed` comes down to `wanted`, at most `most`."""
    if computed(0.0) <= wanted:
        return 0.0
    low, high = 1.0, most
    if computed(low) <= wanted:
        return low
    while high > 1.02 * low:
        middle = math.sqrt(low * high)
        low, high = (middle, high) if computed(middle) > wanted else (low, middle)
    return math.sqrt(low * high)


# --- water that goes where nobody wants it -------------------------------------------------------


def lost_flow(plot: FieldPlot, minutes: float) -> float:
    """Flow [L/h] that leaves the plot besides its emitters, when a full tank lasts so short.

    At least this: a mean over the emptying, and too little rather than too much, as beside a leak
    the emitters give less than they are credited with here.
    """
    reckoned = reckoned_minutes(plot)
    if reckoned is None or minutes <= 0.0:
        return 0.0
    usable = litres(plot.one.tank.usable)
    return max(0.0, usable * MINUTES_PER_HOUR * (1.0 / minutes - 1.0 / reckoned.likely))


def dropped_flow(card: PlotCard, drop: float, minutes: float) -> float:
    """Flow [L/h] out of a tank whose level fell so far [m] in so many minutes, valve shut."""
    area = cubic_metres(card.tank.volume_l) / card.tank.water_depth_m
    return litres(area * drop) * MINUTES_PER_HOUR / minutes


def tank_leaks(drop: float) -> bool:
    """Whether a water line that fell so far [m] tells of a leak, and not of the reading."""
    return drop > DROP_READING_M


def bucket_flow(bucket_l: float, seconds: float) -> float:
    """Flow [L/h] of a pump that fills a bucket in so many seconds (> 0)."""
    if not seconds > 0.0:
        raise OutOfRange("seconds of the bucket", seconds, 0.0, math.inf)
    return bucket_l * SECONDS_PER_HOUR / seconds


# --- the table of causes -------------------------------------------------------------------------

COLUMNS = ("seen", "finding", "cause", "reason", "source")


@dataclass(frozen=True, slots=True)
class Cause:
    """What a finding on a plot means; `reason` is for whoever keeps the table."""

    seen: str
    finding: str
    cause: str
    reason: str
    source: str


def read_causes(text: str, file_name: str) -> Mapping[tuple[str, str], Cause]:
    """Causes by what is seen and what was found.

    Raises
    ------
    TextFileError
        A column is missing or a value is empty; every problem with its line.
    """

    def cause(row: Row) -> Cause:
        return Cause(*(word(row, column) for column in COLUMNS))

    return {(row.seen, row.finding): row for row in parsed(text, file_name, COLUMNS, cause)}
