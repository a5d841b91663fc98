"""Which cups of a field check are low, and what their pattern says of the plot.

Each cup is held against what pipes and ground alone give there; what is left is explained by one
simple pattern at most.
"""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from service.sizing.calibration import DRY_SHARE
from service.sizing.field_check import Sampling, reckoned_flows
from service.sizing.sized import Candidate

Pattern = Literal[
    "even", "dry", "high", "ends_low", "starts_low", "far_lines_low", "near_lines_low",
    "one_line_low", "side_low", "scattered",
]  # fmt: skip

CLEAR = 10.0
"""How many times its residual scatter a pattern must explain before it is named [-]: our choice."""
FEWEST = 4
"""Cups of which a pattern is told [-]: our choice."""
HIGH_SHARE = 1.2
"""A cup with more than this share of what its place should give runs over: common practice."""
UNEVEN = 2.0
"""Scatter above so many times that of new emitters is more than their make [-]: our choice."""


@dataclass(frozen=True, slots=True)
class Gap:
    """What the cups' pattern says; `line` for one line (or side), `count` for single cups."""

    pattern: Pattern
    line: int = 0
    count: int = 0


@dataclass(frozen=True, slots=True)
class _Share:
    """What one cup got of what the pipes give there, over the middle cup's."""

    line: int
    tap: float
    side: int
    along: float
    share: float


def gap(one: Candidate, sampling: Sampling, volumes: Sequence[float], level: float) -> Gap:
    """What explains best that cups differ from what the pipes alone would give.

    Single dry cups and single overflowing ones come first; then a pattern along the lines, along
    the main pipe, of one line or of one side, whichever explains most and much more than is left;
    then plain scatter. A place to which pipes and ground let no water come says nothing of its
    dripper: it is left out, and of fewer than four cups no pattern is told.
    """
    shares = _shares(one, sampling, volumes, level)
    if len(shares) < FEWEST:
        return Gap("even")
    dry = [each for each in shares if each.share <= DRY_SHARE]
    rest = [each for each in shares if each.share > DRY_SHARE]
    found = _pattern(one, rest) if len(rest) >= FEWEST else None
    whole_line = _dry_line(dry, sampling)
    if whole_line:
        return Gap("one_line_low", line=whole_line)
    if len(dry) > 1 and min(each.along for each in dry) == 1.0:
        return Gap("ends_low")
    if found is not None and not dry:
        return found
    if dry:
        return Gap("dry", count=len(dry))
    high = _runs_over(rest, one.card.dripline.cv)
    if high:
        return Gap("high", line=high.line, count=1)
    scatter = statistics.stdev(each.share for each in rest)
    return Gap("scattered" if scatter > UNEVEN * one.card.dripline.cv else "even")


def _shares(
    one: Candidate, sampling: Sampling, volumes: Sequence[float], level: float
) -> list[_Share]:
    flows = reckoned_flows(one, sampling, level)
    sides, taps = len(one.network.sides), max(1, len(one.network.taps) - 1)
    places = max(1, one.network.emitters_per_line - 1)
    raw = {
        place: volume / flow
        for place, volume, flow in zip(sampling.places_of(), volumes, flows, strict=True)
        if flow > 0.0
    }
    middle = statistics.median(raw.values()) or max(raw.values()) or 1.0 if raw else 1.0
    return [
        _Share(
            line=line,
            tap=((line - 1) // sides) / taps,
            side=(line - 1) % sides,
            along=(emitter - 1) / places,
            share=share / middle,
        )
        for (line, emitter), share in raw.items()
    ]


def _dry_line(dry: Sequence[_Share], sampling: Sampling) -> int:
    """Return the number of a line all of whose cups are dry, if the others' are not."""
    lines = {each.line for each in dry}
    if len(lines) == 1 and len(dry) == sampling.places and sampling.lines > 1:
        return lines.pop()
    return 0


def _runs_over(shares: Sequence[_Share], cv: float) -> _Share | None:
    highest = max(shares, key=lambda each: each.share)
    others = [each.share for each in shares if each is not highest]
    limit = max(HIGH_SHARE, statistics.fmean(others) + 3.0 * max(cv, statistics.stdev(others)))
    return highest if highest.share > limit else None


def _pattern(one: Candidate, shares: Sequence[_Share]) -> Gap | None:
    """Return the one-parameter pattern that leaves least unexplained, if it explains enough."""
    tried = list(_explained(one, shares))
    if not tried:
        return None
    left, slope, gap_ = min(tried, key=lambda each: each[0])
    total = _scatter([each.share for each in shares])
    freedom = len(shares) - 2
    make = one.card.dripline.cv**2 * freedom
    clear = (total - left) * freedom > CLEAR * max(left, 0.5 * make)
    return gap_ if clear and abs(slope) > UNEVEN * one.card.dripline.cv else None


def _explained(one: Candidate, shares: Sequence[_Share]) -> Iterator[tuple[float, float, Gap]]:
    """Yield what each pattern leaves unexplained, its size, and what it would mean."""
    values = [each.share for each in shares]
    along = _fitted(values, [each.along for each in shares])
    if along:
        yield *along, Gap("ends_low" if along[1] < 0.0 else "starts_low")
    lines = sorted({each.line for each in shares})
    for line in lines if len(lines) > 1 else ():
        found = _fitted(values, [float(each.line == line) for each in shares])
        if found and found[1] < 0.0:
            yield *found, Gap("one_line_low", line=line)
    if len(one.network.sides) == 2:
        found = _fitted(values, [float(each.side) for each in shares])
        if found:
            yield *found, Gap("side_low", line=2 if found[1] < 0.0 else 1)
    # Of two lines the lower one is low by itself.
    if len(lines) > 2:
        found = _fitted(values, [each.tap for each in shares])
        if found:
            yield *found, Gap("far_lines_low" if found[1] < 0.0 else "near_lines_low")


def _fitted(values: Sequence[float], marks: Sequence[float]) -> tuple[float, float] | None:
    """Return the squares left by a straight fit of values on marks, and its slope."""
    mean, middle = statistics.fmean(values), statistics.fmean(marks)
    spread = sum((mark_ - middle) ** 2 for mark_ in marks)
    if spread <= 0.0:
        return None
    shared = sum((v - mean) * (m - middle) for v, m in zip(values, marks, strict=True))
    return _scatter(values) - shared**2 / spread, shared / spread


def _scatter(values: Sequence[float]) -> float:
    mean = statistics.fmean(values)
    return sum((value - mean) ** 2 for value in values)
