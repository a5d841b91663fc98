"""Every way to lay a plot, and which of several is the better one.

Positions of the tank, directions of the lines, bores of the pipe table and one to four blocks are
enumerated, except what the card fixes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import get_args

from service.errors import CardError, FieldProblem
from service.sizing.card import PlotCard
from service.sizing.geometry import Lines, Network, network_of
from service.sizing.pipes import PipeSize, submain_pipes
from service.sizing.result import Layout, LinesRun, TankPosition
from service.sizing.sized import Candidate, candidate
from service.units import MINUTES_PER_HOUR, metres

Cost = Callable[[Layout], float]

MOST_BLOCKS = 4
HOURS_A_DAY = 12.0
"""In which somebody can stand by an open valve [h]: common practice, no source."""
LEAST_BAD_WITHIN_PCT = 2.0
"""Among layouts that miss the goal, those this close to the most even one count as equal."""
METRES_PER_FITTING = 1.0
METRES_PER_VALVE = 5.0
"""Metres of dripline that a fitting, and a valve, count for when there are no prices: our choice,
no source."""


@dataclass(frozen=True)
class Rated:
    """A candidate with what decides about it, reckoned only where it does decide.

    Attributes
    ----------
    peak : float or None
        Water that the crop needs on its thirstiest day [L].
    cost : callable or None
        Cost of a layout's parts.
    hours : float
        In which water can run on a day [h].
    """

    candidate: Candidate
    peak: float | None
    cost: Cost | None
    hours: float

    @cached_property
    def in_hours(self) -> bool:
        """Whether it can give the peak day's water in the hours of a day."""
        if self.peak is None:
            return True
        most = self.hours * MINUTES_PER_HOUR
        least_minutes, most_minutes = self.candidate.minutes_bounds(self.peak)
        if most_minutes <= most or least_minutes > most:
            return most_minutes <= most
        minutes = self.candidate.minutes_for_litres(self.peak)
        return minutes is not None and minutes <= most

    @cached_property
    def measure(self) -> float:
        """Parts cost, or parts counted as metres of dripline."""
        one = self.candidate
        return parts_measure(one) if self.cost is None else self.cost(one.layout())

    @property
    def meets(self) -> bool:
        """Whether it waters evenly enough, and fast enough."""
        return self.candidate.meets_goal and self.in_hours

    @property
    def evenness(self) -> float:
        """Emission uniformity of the worst block [%]."""
        return self.candidate.worst_full.emission_uniformity_pct


def best_of(rated: Sequence[Rated]) -> Rated:
    """Return the cheapest of those that suffice, else the least bad (the earlier on a tie).

    The least bad is the cheapest of those whose evenness is within 2 points of the best: beyond
    that, parts would be bought for nothing that a farmer could see.
    """
    enough = [one for one in rated if one.meets]
    if enough:
        return min(enough, key=lambda one: one.measure)
    even = [one for one in rated if one.candidate.meets_goal] or list(rated)
    most = max(one.evenness for one in even)
    near = [one for one in even if one.evenness >= most - LEAST_BAD_WITHIN_PCT]
    return min(near, key=lambda one: one.measure)


def parts_measure(one: Candidate) -> float:
    """Parts of a layout, counted as metres of dripline, to compare layouts without prices [m].

    A metre of pipe counts by its bore over the dripline's (plastic goes roughly with the bore);
    every line has two fittings (at the tap and at its end), every block a valve.
    """
    network = one.network
    bore = network.bore / network.sides[0].shape.bore
    pipe = (network.taps[-1] + network.stand) * bore
    lines = network.line_count * (network.line_length + 2.0 * METRES_PER_FITTING)
    return pipe + lines + len(one.blocks) * METRES_PER_VALVE


def rater(peak: float | None, cost: Cost | None, hours: float) -> Callable[[Candidate], Rated]:
    """Return the function that rates a candidate by time and by cost."""
    return lambda one: Rated(one, peak, cost, hours)


def groups(
    card: PlotCard,
    pipes: Sequence[PipeSize],
    lines: Lines,
    rate: Callable[[Candidate], Rated],
) -> list[list[Rated]]:
    """Candidates of each tank position and direction that the card allows and has room for.

    Raises
    ------
    CardError
        When there is room for none of them.
    """
    fixed = card.layout
    positions = (fixed.tank_position,) if fixed.tank_position else get_args(TankPosition)
    directions = (fixed.lines_run,) if fixed.lines_run else get_args(LinesRun)
    found: list[list[Rated]] = []
    problems: list[FieldProblem] = []
    for position in positions:
        for lines_run in directions:
            try:
                networks = _networks(card, pipes, position, lines_run, lines)
            except CardError as fault:
                problems.extend(fault.problems)
            else:
                found.append(list(_rated(card, networks, rate)))
    if not found:
        raise CardError(list(dict.fromkeys(problems)))
    return found


def _networks(
    card: PlotCard,
    pipes: Sequence[PipeSize],
    position: TankPosition,
    lines_run: LinesRun,
    lines: Lines,
) -> list[Network]:
    networks = [
        network_of(card, position, lines_run, bore, lines) for bore in bores_for(card, pipes)
    ]
    taps, blocks = len(networks[0].taps), card.layout.blocks
    if blocks is not None and blocks > taps:
        allowed = f"allowed: at most one block for each of the {taps} taps; example 1"
        raise CardError([FieldProblem("layout.blocks", blocks, allowed)])
    return networks


def bores_for(card: PlotCard, pipes: Sequence[PipeSize]) -> list[float]:
    """Bores [m] to try for the submain: the card's own, or those of the table, narrow to wide."""
    if card.submain.inner_diameter_mm is not None:
        return [metres(card.submain.inner_diameter_mm)]
    return [metres(pipe.bore_mm) for pipe in submain_pipes(pipes)]


def _rated(
    card: PlotCard, networks: Sequence[Network], rate: Callable[[Candidate], Rated]
) -> Iterator[Rated]:
    """Yield candidates by bore and number of blocks, without those that can only cost more.

    Once some number of blocks suffices, more of them only add valves; once a bore suffices with
    the fewest blocks, a wider one only costs more.
    """
    fixed = card.layout.blocks
    for network in networks:
        most = min(MOST_BLOCKS, len(network.taps))
        counts = range(1, most + 1) if fixed is None else range(fixed, fixed + 1)
        for blocks in counts:
            one = rate(candidate(card, network, blocks))
            yield one
            if one.meets and blocks == counts[0]:
                return
            if one.meets:
                break
