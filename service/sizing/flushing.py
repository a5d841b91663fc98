"""Flushing: how fast the water runs out of one open end while all other ends stay shut.

The other lines of the block drip meanwhile, and so does the flushed one: it is the network of a
plan with one free end more. SI units.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeAlias

from service.sizing.block import Block
from service.sizing.friction import PipeLaw
from service.sizing.lines import Line
from service.sizing.sized import Candidate
from service.sizing.water import GRAVITY
from service.units import MINUTES_PER_HOUR, SECONDS_PER_HOUR, litres

FLUSH_SPEED = 0.3
"""Speed at an open end that carries dirt out [m/s]: 1 ft/s, University of California, Maintenance
of Microirrigation Systems, page on flushing, read; some ask for 0.5."""
EXIT_K = 1.0
"""Velocity heads that leave with the water [-]: by definition of a free end."""
PIPE_VOLUMES = 2.0
"""Water let through a flushed pipe, in its own volumes [-], then until it is clear: our choice."""
LEAST_MINUTES = 1.0
"""A minute or two a line: University of California, as above, read."""
SETTLED = 1e-6
"""Of the greatest flow that could leave the end [-]."""
SECONDS_PER_MINUTE = SECONDS_PER_HOUR / MINUTES_PER_HOUR

Needed: TypeAlias = Callable[[float], tuple[float, float]]
"""Of a flow out of an end [m³/s]: the water surface that it takes [m], the flow out of the tank."""


@dataclass(frozen=True, slots=True)
class OpenEnd:
    """One free end, the tank at one level.

    Attributes
    ----------
    flow, drawn : float
        Out of the end, and out of the tank with all that drips meanwhile [m³/s]; `flow` is 0 when
        the water does not reach the end.
    speed : float
        At the end [m/s].
    volume : float
        Water that stands in the flushed pipe [m³].
    """

    flow: float
    drawn: float
    speed: float
    volume: float

    @property
    def fast_enough(self) -> bool:
        """Whether it carries dirt out."""
        return self.speed >= FLUSH_SPEED

    @property
    def minutes(self) -> float | None:
        """How long to let it run at least [min]; None when nothing comes out."""
        if self.flow <= 0.0:
            return None
        return max(LEAST_MINUTES, PIPE_VOLUMES * self.volume / self.flow / SECONDS_PER_MINUTE)

    @property
    def whole_minutes(self) -> int | None:
        """The same as it is told to people, rounded up [min]."""
        return None if self.minutes is None else math.ceil(self.minutes - 1e-6)


@dataclass(frozen=True, slots=True)
class Flush:
    """Flushing a whole plot, the tank kept full and one end open at a time.

    Attributes
    ----------
    line, submain : OpenEnd
        End of the farthest line, and of the submain; of several blocks the slowest.
    litres : float or None
        Out of the tank until every end has run its whole minutes [L]; None when one stays dry.
    """

    line: OpenEnd
    submain: OpenEnd
    litres: float | None


def flush(one: Candidate) -> Flush:
    """Return how a layout flushes with its tank full."""
    line = _slowest(line_end(block, one.surface) for block in one.blocks)
    submain = _slowest(submain_end(block, one.surface) for block in one.blocks)
    return Flush(line, submain, _litres(one, line, submain))


def _slowest(ends: Iterable[OpenEnd]) -> OpenEnd:
    return min(ends, key=lambda end: end.speed)


def _litres(one: Candidate, line: OpenEnd, submain: OpenEnd) -> float | None:
    if line.whole_minutes is None or submain.whole_minutes is None:
        return None
    lines = line.whole_minutes * one.network.line_count * line.drawn
    submains = submain.whole_minutes * len(one.blocks) * submain.drawn
    return litres(SECONDS_PER_MINUTE * (lines + submains))


def line_end(block: Block, surface: float) -> OpenEnd:
    """Return the open end of a line at the block's last tap; of two sides the slower one.

    Parameters
    ----------
    block : Block
        The lines that run.
    surface : float
        Height of the water surface above the ground at the tank [m].
    """
    return _slowest(_line_end(block, side, surface) for side in range(len(block.network.sides)))


def submain_end(block: Block, surface: float) -> OpenEnd:
    """Return the open end of the submain at the block's last tap; surface as in `line_end`."""
    pieces, ground = block.network.pieces[: block.last + 1], block.network.ground[block.last]
    law = pieces[-1].law

    def needed(out: float) -> tuple[float, float]:
        return _to_tank(block, ground + _exit_head(law, out), out, block.last)

    volume = math.fsum(_area(piece.law.bore) * piece.length for piece in pieces)
    return _open_end(needed, ground, surface, law.bore, volume)


def _line_end(block: Block, side: int, surface: float) -> OpenEnd:
    network = block.network
    line, length, ground = network.sides[side], network.line_length, network.ground[block.last]
    bore = line.shape.bore
    beside = [each for place, each in enumerate(network.sides) if place != side]

    def needed(out: float) -> tuple[float, float]:
        head, flow = _open_line(line, length, out)
        flow += math.fsum(_line_flow(each, head) for each in beside)
        return _to_tank(block, ground + head, flow, block.last - 1)

    return _open_end(
        needed, ground + line.shape.slope * length, surface, bore, _area(bore) * length
    )


def _open_line(line: Line, length: float, out: float) -> tuple[float, float]:
    """Head at the tap above the ground there [m], and flow into a line [m³/s] with an open end."""
    shape, flow = line.shape, out
    pipe = PipeLaw(shape.bore, shape.viscosity)
    beyond = length - (shape.emitters - 1 + shape.first_at) * shape.spacing
    head = shape.slope * length + _exit_head(pipe, out) + pipe.loss(out, beyond)
    for place in range(shape.emitters - 1, -1, -1):
        flow += shape.law.flow(head - line.elevations[place])
        spacings, taps = (1.0, 0.0) if place else (shape.first_at, shape.tap_k)
        head += pipe.loss(flow, spacings * shape.spacing + shape.barb, taps)
    return head, flow


def _line_flow(line: Line, head: float) -> float:
    """Flow into a line with its end shut [m³/s] at a head at its tap above the ground there [m]."""
    return line.flow(line.curve.at(head - line.lowest)[0])


def _to_tank(block: Block, head: float, flow: float, open_to: int) -> tuple[float, float]:
    """Water surface [m] and flow out of the tank [m³/s] of a head and a flow at the last tap.

    Lines at taps up to `open_to` are still to be added.
    """
    network = block.network
    for tap in range(block.last, -1, -1):
        if block.first <= tap <= open_to:
            over = head - network.ground[tap]
            flow += math.fsum(_line_flow(line, over) for line in network.sides)
        piece = network.pieces[tap]
        head += piece.law.loss(flow, piece.length, piece.minor_k)
    down = network.down
    return head + down.law.loss(flow, down.length, down.minor_k), flow


def _open_end(needed: Needed, ground: float, surface: float, bore: float, volume: float) -> OpenEnd:
    """Return the end, on ground so high [m], whose flow takes just the water surface there is."""
    area = _area(bore)
    # Without any friction it would be a jet of the whole head.
    low, high = 0.0, area * math.sqrt(2.0 * GRAVITY * max(surface - ground, 0.0))
    least = SETTLED * high
    while high - low > least:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if needed(middle)[0] < surface else (low, middle)
    flow = low if low > least else 0.0
    return OpenEnd(flow, needed(flow)[1], flow / area, volume)


def _exit_head(law: PipeLaw, out: float) -> float:
    return EXIT_K * law.velocity_head * out * out


def _area(bore: float) -> float:
    return math.pi * bore * bore / 4.0
