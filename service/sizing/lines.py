"""One dripline: from the head at its far end back to the tap."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from service.sizing.curve import NOBODY_ASKS_M, Care, Curve, Point, first_visible
from service.sizing.emitters import SMALL_HEAD_M, EmitterLaw
from service.sizing.friction import PipeLaw

TOLERANCE = 1e-4
"""Of the heads looked up in a line's curve [-]."""
HIGHEST_M = 1000.0
"""Nobody asks for more head at a tap; beyond it a starved line is not reckoned."""

LineFound: TypeAlias = tuple[float, list[float]]
"""Flow [m³/s] and heads at the emitters [m], the farthest first."""


@dataclass(frozen=True, slots=True)
class LineShape:
    """What makes two driplines alike.

    Attributes
    ----------
    emitters : int
        Number of emitters.
    spacing, barb : float
        Between emitters, and the pipe length that one emitter's connection costs [m].
    slope : float
        Rise over run away from the tap [-], positive uphill.
    bore, viscosity : float
        Of the pipe [m] and of the water [m²/s].
    tap_k : float
        Loss at the tap on the dripline's velocity head [-].
    first_at : float
        Distance of the first emitter from the tap in spacings [-]: a half in every plan, one in
        many worked examples.
    """

    emitters: int
    spacing: float
    barb: float
    slope: float
    bore: float
    viscosity: float
    tap_k: float
    law: EmitterLaw
    first_at: float = 0.5


class Line:
    """A dripline of one shape and its curve.

    The curve's inlet is the head at the tap above the lowest emitter: near dryness minute heads
    decide, and they must not be added to an elevation.
    """

    __slots__ = (
        "_first",
        "_from_lowest",
        "_piece",
        "_pipe",
        "_rise",
        "_tap",
        "curve",
        "elevations",
        "lowest",
        "shape",
    )

    def __init__(self, shape: LineShape, highest: float) -> None:
        self.shape = shape
        self._pipe = PipeLaw(shape.bore, shape.viscosity)
        self._piece = shape.spacing + shape.barb
        self._first = shape.first_at * shape.spacing + shape.barb
        self._tap = shape.tap_k * self._pipe.velocity_head
        self._rise = shape.slope * shape.spacing
        self.elevations = tuple((j + shape.first_at) * self._rise for j in range(shape.emitters))
        self.lowest = min(self.elevations[0], self.elevations[-1])
        self._from_lowest = self.elevations[0] - self.lowest
        dry = self.lowest - self.elevations[-1]
        high = max(highest, dry + 0.1)
        care = Care(TOLERANCE, shape.law.exponent, high - dry)
        what = f"a line of {shape.emitters} emitters"
        self.curve = Curve(LineShot(self), dry, high, care, what)

    def flow(self, effective_head: float) -> float:
        """Flow [m³/s] of the whole line whose emitters give as much as at one common head [m]."""
        return self.shape.emitters * self.shape.law.flow(effective_head)

    def march(
        self, end: float, start: int = 0, carried: float = 0.0, beyond: Sequence[float] = ()
    ) -> tuple[float, LineFound]:
        """Head at the tap above the lowest emitter [m], and what was found on the way back to it.

        Parameters
        ----------
        end : float
            Head at the emitter from which to start [m]; below 0 when it is dry.
        start : int
            Its place, counted from the far end.
        carried : float
            Flow that passes it on the way to those beyond [m³/s].
        beyond : sequence of float
            Heads at the emitters beyond [m].

        Returns
        -------
        tuple
            The head, then flow [m³/s] and heads at the emitters [m], the farthest first.
        """
        law, pipe, piece = self.shape.law, self._pipe, self._piece
        k, x = law.factor, law.exponent
        laminar, laminar_flow = pipe.laminar * piece, pipe.laminar_flow
        gradient, root, power = pipe.gradient, math.sqrt, math.pow
        square_root, rise, small_slope = x == 0.5, self._rise, law.small_slope
        head, flow = end, carried
        heads = list(beyond)
        for _ in range(start, self.shape.emitters):
            heads.append(head)
            if head > SMALL_HEAD_M:
                flow += k * (root(head) if square_root else power(head, x))
            elif head > 0.0:
                flow += small_slope * head
            loss = laminar * flow if flow <= laminar_flow else piece * gradient(flow)
            head += loss + rise
        last_stretch = self._first * gradient(flow) + self._tap * flow * flow
        return heads[-1] + self._from_lowest + last_stretch, (flow, heads)

    def solved(self, over: float) -> tuple[float, list[float]]:
        """Flow [m³/s] and heads at the emitters [m], the nearest first.

        Parameters
        ----------
        over : float
            Head at the tap above the lowest emitter [m].

        Raises
        ------
        NotConverged
            When the head at the tap is not met within a ten-millionth of it.
        """
        flow, heads = self.curve.solved(over)
        return flow, heads[::-1]


@dataclass(frozen=True, slots=True)
class LineShot:
    """A line reckoned back from one of its emitters, with all beyond it as it stands."""

    line: Line
    start: int = 0
    carried: float = 0.0
    beyond: tuple[float, ...] = ()

    def march(self, end: float) -> tuple[float, LineFound]:
        """Head at the tap above the lowest emitter [m]; flow and heads found (`Line.march`)."""
        return self.line.march(end, self.start, self.carried, self.beyond)

    def point(self, end: float, inlet: float, found: LineFound) -> Point:
        """Head at the tap, effective, least and greatest head [m]."""
        flow, heads = found
        if not inlet < HIGHEST_M:
            return HIGHEST_M + NOBODY_ASKS_M + end, math.inf, math.inf, math.inf
        shape = self.line.shape
        return inlet, shape.law.head(flow / shape.emitters), min(heads), max(heads)

    def nearer(self, low: float, high: float) -> tuple[LineShot, float, float] | None:
        """The same from the first emitter at which two heads here make a difference."""
        _, (_, below) = self.march(low)
        _, (_, above) = self.march(high)
        place = first_visible(below, above, self.start)
        if place is None:
            return None
        flow = self.line.shape.law.flow
        carried = math.fsum(flow(head) for head in below[:place])
        shot = LineShot(self.line, place, carried, tuple(below[:place]))
        return shot, below[place], above[place]
