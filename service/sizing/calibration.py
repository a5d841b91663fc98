"""The emitter constant of a plot that is already laid, from one simple measurement.

Either the minutes in which a full tank empties, or the water caught in cups at some emitters. The
answer is a factor on the printed flow, with its uncertainty, or the reason why the measurement
cannot belong to this card.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from service.errors import NotConverged, OutOfRange
from service.sizing.geometry import Lines, network_of
from service.sizing.network import solve_block
from service.sizing.sized import Candidate, candidate
from service.units import MINUTES_PER_HOUR, litres_per_hour

Reason = Literal["too_fast", "too_slow", "cannot_empty", "too_many_dry_cups", "too_scattered"]

LEAST_FACTOR, GREATEST_FACTOR = 0.5, 1.6
"""Beyond these no emitter explains it, but a leak, a shut valve or a wrong count: our estimate. New
emitters keep within some 10 % of their print, at low head within 20 % (abstracts, read)."""
TIMING_MIN, FILLING = 2.0, 0.05
"""How well minutes are read [min] and a tank is filled to its mark [-]: our estimates."""
CUP_READING = 0.02
"""One mL in fifty [-]."""
DRY_SHARE = 0.5
"""A cup with this share of the middle cup or less belongs to a blocked emitter."""
DRY_CUPS = 0.25
SCATTER = 0.30
"""More scatter than this among emitters that do run [-]: look for the cause first."""
CAUSES: dict[Reason, tuple[str, ...]] = {
    "too_fast": ("leak", "open_line_end", "more_lines_than_told", "smaller_tank"),
    "too_slow": ("valve_not_open", "dirty_filter", "clogged", "fewer_lines_than_told"),
    "cannot_empty": ("ground_higher_than_told", "stand_lower_than_told"),
    "too_many_dry_cups": ("clogged", "shut_tap"),
    "too_scattered": ("clogged", "mixed_lines"),
}


@dataclass(frozen=True, slots=True)
class Cup:
    """Water caught at one emitter.

    Attributes
    ----------
    line, emitter : int
        Counted from 1: lines in tap order (side one, then side two), emitters from the tap.
    millilitres : float
        Caught [mL].
    """

    line: int
    emitter: int
    millilitres: float


@dataclass(frozen=True, slots=True)
class Calibration:
    """Factor on the printed emitter flow that reproduces the measurement, and its likely range."""

    factor: float
    low: float
    high: float
    measured: float
    """Minutes, or mean flow at the cups [L/h]."""
    expected: float
    """The same of the card with a factor of 1."""
    dry_cups: int = 0


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Why a measurement cannot belong to the card; `causes` are codes, the likeliest first."""

    reason: Reason
    measured: float
    expected: float | None
    causes: tuple[str, ...]


def catch_flow(millilitres: float, minutes: float) -> float:
    """Flow [L/h] of an emitter that gave so many mL in so many minutes (> 0)."""
    if not minutes > 0.0:
        raise OutOfRange("minutes of the catch", minutes, 0.0, math.inf)
    return millilitres / 1000.0 * MINUTES_PER_HOUR / minutes


def recalibrated(one: Candidate, factor: float) -> Candidate:
    """The same layout with another factor on its emitters' flow."""
    dripline = one.card.dripline.model_copy(update={"calibration": factor})
    card, network = one.card.model_copy(update={"dripline": dripline}), one.network
    lines = Lines(one.surface)
    again = network_of(card, network.position, network.lines_run, network.bore, lines)
    return candidate(card, again, len(one.blocks))


def calibrated_from_minutes(
    one: Candidate, minutes: float, block: int = 0
) -> Calibration | Contradiction:
    """Factor that makes a full tank empty in the minutes measured.

    Parameters
    ----------
    one : Candidate
        The plot as laid.
    minutes : float
        From full until the outlet runs dry [min], above 0.
    block : int
        The block that was open, from 0.
    """
    if not minutes > 0.0:
        raise OutOfRange("minutes from full to empty", minutes, 0.0, math.inf)

    def emptied(factor: float) -> float:
        computed = recalibrated(one, factor).drains[block].empty_minutes
        return math.inf if computed is None else computed

    expected = emptied(1.0)
    if math.isinf(expected):
        return Contradiction("cannot_empty", minutes, None, CAUSES["cannot_empty"])
    wrong = math.hypot(TIMING_MIN / minutes, FILLING)
    return _fitted(emptied, minutes, expected, wrong, falling=True)


def calibrated_from_cups(
    one: Candidate, cups: Sequence[Cup], minutes: float, water_level: float
) -> Calibration | Contradiction:
    """Factor that makes the emitters with cups give, on average, what was caught.

    Cups of blocked emitters are counted but left out: they say nothing of the emitter's make.

    Parameters
    ----------
    one : Candidate
        The plot as laid.
    cups : sequence of Cup
        Four or more.
    minutes : float
        Of the catch [min].
    water_level : float
        Mean level during the catch, above the base of the tank [m].
    """
    if len(cups) < 4:
        raise OutOfRange("number of cups", len(cups), 4, math.inf)
    _check_places(one, cups)
    middle = statistics.median(cup.millilitres for cup in cups)
    running = [cup for cup in cups if cup.millilitres > DRY_SHARE * middle]
    flows = [catch_flow(cup.millilitres, minutes) for cup in running]
    surface = one.network.stand + water_level

    def caught(factor: float) -> float:
        return _mean_at(recalibrated(one, factor), running, surface)

    dry = len(cups) - len(running)
    if dry > DRY_CUPS * len(cups):
        causes = CAUSES["too_many_dry_cups"]
        return Contradiction("too_many_dry_cups", float(dry), float(len(cups)), causes)
    measured = statistics.fmean(flows)
    scatter = statistics.stdev(flows) / measured
    if scatter > SCATTER:
        return Contradiction("too_scattered", scatter, SCATTER, CAUSES["too_scattered"])
    wrong = math.hypot(scatter / math.sqrt(len(flows)), CUP_READING)
    return _fitted(caught, measured, caught(1.0), wrong, falling=False, dry_cups=dry)


def _check_places(one: Candidate, cups: Sequence[Cup]) -> None:
    for cup in cups:
        if not 1 <= cup.line <= one.network.line_count:
            raise OutOfRange("line of a cup", cup.line, 1, one.network.line_count)
        if not 1 <= cup.emitter <= one.network.emitters_per_line:
            raise OutOfRange("emitter of a cup", cup.emitter, 1, one.network.emitters_per_line)


def _mean_at(one: Candidate, cups: Sequence[Cup], surface: float) -> float:
    """Return the mean flow [L/h] at the cups' emitters."""
    lines = [line for block in one.blocks for line in solve_block(block, surface).emitter_flows]
    return statistics.fmean(litres_per_hour(lines[cup.line - 1][cup.emitter - 1]) for cup in cups)


def _fitted(
    computed: Callable[[float], float],
    measured: float,
    expected: float,
    wrong: float,
    *,
    falling: bool,
    dry_cups: int = 0,
) -> Calibration | Contradiction:
    """Return the factor at which `computed` gives what was measured, within the limits."""
    ends = computed(LEAST_FACTOR), computed(GREATEST_FACTOR)
    fast = measured < ends[1] if falling else measured > ends[1]
    slow = measured > ends[0] if falling else measured < ends[0]
    if fast or slow:
        reason: Reason = "too_fast" if fast else "too_slow"
        return Contradiction(reason, measured, expected, CAUSES[reason])
    factor = _factor(computed, measured, ends)
    # A plot answers a change of its emitters less than in proportion, since pipes take their
    # share: so the range of the factor is looked for, not taken over from the measurement.
    spread = sorted(
        _factor(computed, measured * (1.0 + sign * wrong), ends) for sign in (-1.0, 1.0)
    )
    return Calibration(factor, spread[0], spread[1], measured, expected, dry_cups)


def _factor(computed: Callable[[float], float], target: float, ends: tuple[float, float]) -> float:
    """Return the factor that gives `target`, or the limit beyond which it lies.

    Regula falsi on logarithms (nearly straight here), with the Illinois change so that both ends
    move.
    """
    low, high = math.log(LEAST_FACTOR), math.log(GREATEST_FACTOR)
    below, above = (math.log(end / target) for end in ends)
    if below * above >= 0.0:
        return LEAST_FACTOR if abs(below) < abs(above) else GREATEST_FACTOR
    for _ in range(60):
        middle = low - below * (high - low) / (above - below)
        off = math.log(computed(math.exp(middle)) / target)
        if abs(off) < 1e-5:
            return math.exp(middle)
        if off * above < 0.0:
            low, below = high, above
        else:
            below *= 0.5
        high, above = middle, off
    raise NotConverged("the calibration of a plot", off)
