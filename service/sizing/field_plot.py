"""A plot as somebody stands on it, and what simple measurements on it should give.

A cup under an emitter, a bottle at an open line end, the minutes of a full tank: each is reckoned
by the plot's own hydraulics at the water level of the moment, with the range that comes from what
is not known surely.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from service.errors import OutOfRange
from service.sizing.calibration import FILLING, TIMING_MIN, recalibrated
from service.sizing.card import PlotCard
from service.sizing.geometry import Lines, network_of
from service.sizing.laid import all_open, laid_candidate
from service.sizing.pipes import PipeSize
from service.sizing.sized import Candidate, candidate
from service.sizing.spans import UNSURE_BELOW_M, UNSURE_BY
from service.sizing.troubles import NONE_AT_ALL, Running, Trouble, TroubledBlock, block_of
from service.units import MINUTES_PER_HOUR, cubic_metres, litres_per_hour

Verdict = Literal["less", "as_reckoned", "more"]

NEW_EMITTERS = 0.10
"""Declared flow of new emitters keeps within this [-]: 9 of 12 in a test, read in an abstract."""
CUP_ML = 1.0
"""How well water in a cup is read [mL]: our estimate."""
SECONDS = 1.0
"""How well the time of a bottle is taken [s]: our estimate."""
FULL_WITHIN, PART_WITHIN = 0.05, 0.12
"""How well a level is told, full or by quarters, over the depth [-]: our estimates."""
SCATTERED = 2.0
"""Standard deviations of emitters' make that still pass for as reckoned [-]."""


@dataclass(frozen=True, slots=True)
class Reckoned:
    """What a measurement should give on this plot: the likely value and its range."""

    low: float
    likely: float
    high: float

    def verdict(self, measured: float) -> Verdict:
        """Whether a measurement is less than this, as reckoned, or more."""
        if measured < self.low:
            return "less"
        return "more" if measured > self.high else "as_reckoned"


@dataclass(frozen=True, slots=True)
class Level:
    """Water level above the tank's base [m], and how far off it may be [m]."""

    at: float
    within: float


def tank_level(card: PlotCard, share: float) -> Level:
    """Level of a tank that is told to be full to so much of its depth (0 to 1)."""
    depth = card.tank.water_depth_m
    off = FULL_WITHIN if share >= 1.0 else PART_WITHIN
    return Level(max(share * depth, card.tank.outlet_height_m), off * depth)


@dataclass(frozen=True)
class FieldPlot:
    """A plot as somebody stands on it: the layout, and how surely its flows are known.

    Attributes
    ----------
    one : Candidate
        As laid, with its calibration.
    slow, fast : float
        Flow of its emitters at worst and at best, over the card's [-].
    narrow, wide : float
        Bore of its driplines at worst and at best, over the card's [-].
    """

    one: Candidate
    slow: float
    fast: float
    narrow: float
    wide: float

    @property
    def cv(self) -> float:
        """Coefficient of variation of new emitters [-]."""
        return self.one.card.dripline.cv

    def lines_at(self, place: int) -> tuple[int, ...]:
        """Numbers of the lines at a tap, taps counted from 1 at the tank.

        Raises
        ------
        OutOfRange
            The main pipe has no such tap.
        """
        taps, sides = len(self.one.network.taps), len(self.one.network.sides)
        if not 1 <= place <= taps:
            raise OutOfRange("place along the main pipe", place, 1, taps)
        return tuple((place - 1) * sides + side + 1 for side in range(sides))

    def running_share(self, level: Level) -> float:
        """Share of its emitters that lie below the water and so can run [-]."""
        flows = [
            flow
            for block in range(len(self.one.blocks))
            for state in [TroubledBlock(self.one, block=block).running(level.at)]
            for line, _, _ in state.lines
            for flow in state.emitter_flows(line)
        ]
        return sum(flow > 0.0 for flow in flows) / len(flows)

    def emitter_at(self, distance: float) -> int:
        """Place of the emitter nearest to a distance from the main pipe [m]."""
        spacing = self.one.network.sides[0].shape.spacing
        place = round(distance / spacing + 0.5)
        return min(max(place, 1), self.one.network.emitters_per_line)


def field_plot(
    card: PlotCard, pipes: Sequence[PipeSize], factors: tuple[float, float] | None = None
) -> FieldPlot:
    """Plot of a card whose layout is fixed.

    Parameters
    ----------
    card : PlotCard
        With its calibration.
    pipes : sequence of PipeSize
        Give the range of a bore that nobody measured.
    factors : tuple of float, optional
        Range of the calibration over its value [-]; without it the emitters are as unsure as a
        print is.
    """
    one = laid_candidate(card, pipes)
    if factors is None:
        unsure = UNSURE_BY if one.surface < UNSURE_BELOW_M else NEW_EMITTERS
        factors = (1.0 - unsure, 1.0 + unsure)
    narrow, wide = _bores(card, pipes)
    return FieldPlot(one, factors[0], factors[1], narrow, wide)


def _bores(card: PlotCard, pipes: Sequence[PipeSize]) -> tuple[float, float]:
    if "inner_diameter_mm" in card.dripline.model_fields_set:
        return 1.0, 1.0
    bore = card.dripline.inner_diameter_mm
    for pipe in pipes:
        if pipe.use == "dripline" and abs(pipe.bore_mm - bore) < 0.05:
            return pipe.bore_low_mm / bore, pipe.bore_high_mm / bore
    return 1.0, 1.0


def with_bore(one: Candidate, factor: float) -> Candidate:
    """The same layout with so many times the bore of its driplines."""
    if factor == 1.0:
        return one
    card, network = one.card, one.network
    bore = card.dripline.inner_diameter_mm * factor
    changed = card.model_copy(
        update={"dripline": card.dripline.model_copy(update={"inner_diameter_mm": bore})}
    )
    again = network_of(changed, network.position, network.lines_run, network.bore, Lines())
    return candidate(changed, again, len(one.blocks))


def running(one: Candidate, line: int, level: float, trouble: Trouble) -> Running:
    """What flows in the block of a line at a water level [m], all its lines running."""
    return TroubledBlock(one, trouble, block_of(one, line)).running(level)


def cup_flow(
    one: Candidate, line: int, emitter: int, level: float, trouble: Trouble = NONE_AT_ALL
) -> float:
    """Flow of one emitter [L/h], both counted from 1, at a water level [m]."""
    return litres_per_hour(running(one, line, level, trouble).emitter_flows(line)[emitter - 1])


@dataclass(frozen=True, slots=True)
class Bottle:
    """A bottle or can held under the open end of a line.

    Attributes
    ----------
    volume_l : float
        What it holds [L].
    seconds : float
        In which it was full [s]; 0 when nothing came.
    """

    volume_l: float
    seconds: float


def bottle_seconds(
    one: Candidate, line: int, level: float, volume_l: float, trouble: Trouble = NONE_AT_ALL
) -> float:
    """Seconds [s] in which the open end of a line fills a bottle [L]; infinite when nothing runs.

    All lines of its block run meanwhile, as they do when somebody opens one end.
    """
    opened = trouble.with_line(line, open_end=1.0)
    flow = running(one, line, level, opened).end_flow(line)
    return cubic_metres(volume_l) / flow if flow > 0.0 else math.inf


def reckoned_cup(
    plot: FieldPlot, place: int, emitter: int, level: Level, minutes: float
) -> Reckoned:
    """What a cup should hold [mL] after so many minutes under an emitter at a tap's line.

    Where lines lie on both sides of the main pipe, either may be meant.
    """

    def caught(one: Candidate, at: float) -> list[float]:
        return [
            cup_flow(one, line, emitter, at) * 1000.0 * minutes / MINUTES_PER_HOUR
            for line in plot.lines_at(place)
        ]

    likely = caught(plot.one, level.at)
    make = SCATTERED * plot.cv
    low = caught(
        recalibrated(plot.one, plot.one.card.dripline.calibration * plot.slow), _low(level)
    )
    high = caught(
        recalibrated(plot.one, plot.one.card.dripline.calibration * plot.fast),
        _high(plot.one, level),
    )
    return Reckoned(
        max(0.0, min(low) * (1.0 - make) - CUP_ML),
        sum(likely) / len(likely),
        max(high) * (1.0 + make) + CUP_ML,
    )


def _low(level: Level) -> float:
    return max(0.0, level.at - level.within)


def _high(one: Candidate, level: Level) -> float:
    return min(one.card.tank.water_depth_m, level.at + level.within)


def reckoned_bottle(plot: FieldPlot, place: int, level: Level, volume_l: float) -> Reckoned:
    """Seconds [s] in which the open end of a tap's line should fill a bottle [L]."""

    def seconds(one: Candidate, at: float) -> list[float]:
        return [bottle_seconds(one, line, at, volume_l) for line in plot.lines_at(place)]

    likely = seconds(plot.one, level.at)
    fast = seconds(with_bore(plot.one, plot.wide), _high(plot.one, level))
    slow = seconds(with_bore(plot.one, plot.narrow), _low(level))
    return Reckoned(max(0.0, min(fast) - SECONDS), sum(likely) / len(likely), max(slow) + SECONDS)


def reckoned_minutes(plot: FieldPlot) -> Reckoned | None:
    """Minutes from full to empty with every line running; None when the tank never empties."""
    one = all_open(plot.one)
    factor = one.card.dripline.calibration

    def emptied(share: float) -> float | None:
        return recalibrated(one, factor * share).drains[0].empty_minutes

    likely, fast, slow = emptied(1.0), emptied(plot.fast), emptied(plot.slow)
    if likely is None or fast is None or slow is None:
        return None
    read = math.hypot(TIMING_MIN / likely, FILLING)
    return Reckoned(fast * (1.0 - read), likely, slow * (1.0 + read))
