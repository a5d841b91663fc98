"""The lines behind one valve, reckoned from the last open tap back to the tank."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.errors import OutOfRange
from service.sizing.curve import NOBODY_ASKS_M, Care, Curve, Point, first_visible
from service.sizing.geometry import Network

TOLERANCE = 4e-4
"""Of the heads looked up in a block's curve [-]: flow within 0.005 % at exponent 0.5."""


@dataclass(frozen=True, slots=True)
class March:
    """What one pass from the last open tap back to the tank finds.

    Attributes
    ----------
    flow : float
        Of the whole block [m³/s].
    least, greatest : float
        Heads at the worst and the best emitter [m].
    heads, flows : list of float
        Head at each tap above the tap's lowest emitter [m] and flow in the piece before it
        [m³/s], the last open tap first.
    """

    flow: float
    least: float
    greatest: float
    heads: list[float]
    flows: list[float]


NOTHING = March(0.0, math.inf, -math.inf, [], [])
"""Found before the first tap."""


class Block:
    """The lines behind one valve, and the curve of their flow against the water surface.

    Heads count from the ground at the tank; taps are numbered from 0.
    """

    __slots__ = (
        "curve",
        "dry",
        "emitters",
        "factors",
        "first",
        "highest",
        "last",
        "limit",
        "network",
        "offsets",
    )

    def __init__(self, network: Network, first: int, last: int, highest: float) -> None:
        self.network, self.first, self.last = network, first, last
        self.emitters = (last - first + 1) * len(network.sides) * network.emitters_per_line
        dry = network.dry_surface(first, last)
        self.dry, self.highest = dry, max(highest, dry + 0.1)
        # Where a submain starves its end, an ordinary head there would need a mountain at the tank:
        # nobody asks for that, so it need not be reckoned.
        lowest = min(network.ground) + network.lowest
        self.limit = 2.0 * (self.highest - lowest) + 1.0
        what = f"{network.position} along {network.lines_run}, taps {first + 1} to {last + 1}"
        exponent = network.sides[0].shape.law.exponent
        # Heads at taps count from the lowest emitter there: near dryness minute heads decide.
        self.offsets = tuple((line, line.lowest - network.lowest) for line in network.sides)
        bottom = network.ground[last] + network.lowest
        low, high = dry - bottom, self.highest - bottom
        care = Care(TOLERANCE, exponent, high - low)
        self.factors: Sequence[Sequence[float]] | None = None
        self.curve = Curve(BlockShot(self, NOTHING), low, high, care, what)

    @property
    def line_count(self) -> int:
        """Driplines of the block."""
        return (self.last - self.first + 1) * len(self.network.sides)

    def flow(self, surface: float) -> float:
        """Flow [m³/s] of the block at a height of the water surface [m], at most `highest`."""
        return self.emitters * self.network.sides[0].shape.law.flow(self.at(surface)[0])

    def at(self, surface: float) -> tuple[float, float, float]:
        """Effective, least and greatest head at the emitters [m]; surface as in `flow`."""
        if surface > self.highest + 1e-9:
            raise OutOfRange("height of the water surface [m]", surface, -math.inf, self.highest)
        return self.curve.at(surface)

    def march(self, end: float, beyond: March) -> tuple[float, March]:
        """Water surface [m], infinite when absurdly high, and what was found on the way back.

        Parameters
        ----------
        end : float
            Head above the lowest emitter at the tap from which to start [m]. It may be minute where
            the submain starves its end, so elevations are added piece by piece.
        beyond : March
            What was found at the open taps beyond it; none at the last open tap.
        """
        network = self.network
        head, flow, least, greatest = end, beyond.flow, beyond.least, beyond.greatest
        heads, flows, factors = beyond.heads.copy(), beyond.flows.copy(), self.factors
        for tap in range(self.last - len(heads), -1, -1):
            if tap >= self.first:
                for side, (line, offset) in enumerate(self.offsets):
                    effective, low, high = line.curve.at(head - offset)
                    given = line.flow(effective)
                    flow += given if factors is None else given * factors[tap - self.first][side]
                    least, greatest = min(least, low), max(greatest, high)
            heads.append(head)
            flows.append(flow)
            if head > self.limit:
                return math.inf, March(flow, least, greatest, heads, flows)
            piece = network.pieces[tap]
            head += piece.law.loss(flow, piece.length, piece.minor_k) + network.rises[tap]
        down = network.down
        surface = head + network.lowest + down.law.loss(flow, down.length, down.minor_k)
        return surface, March(flow, least, greatest, heads, flows)

    def beyond(self, found: March, places: int) -> March:
        """What `found` says of the farthest so many taps alone."""
        least, greatest = math.inf, -math.inf
        for place in range(places):
            if self.last - place >= self.first:
                for line, offset in self.offsets:
                    _, low, high = line.curve.at(found.heads[place] - offset)
                    least, greatest = min(least, low), max(greatest, high)
        heads, flows = found.heads[:places], found.flows[:places]
        return March(flows[-1] if flows else 0.0, least, greatest, heads, flows)

    def corrected(self, factors: Sequence[Sequence[float]]) -> Block:
        """The same block with the flow of each line, by open tap and side, multiplied.

        Lines read off their curves err by parts in 100,000; on a starved submain that can matter.
        """
        same = Block(self.network, self.first, self.last, self.highest)
        same.factors = factors
        same.curve = self.curve.anew(BlockShot(same, NOTHING))
        return same

    def solved(self, surface: float) -> March:
        """Heads and flows along the submain at a height of the water surface [m]."""
        self.at(surface)
        return self.curve.solved(surface)


@dataclass(frozen=True, slots=True)
class BlockShot:
    """A block reckoned back from one of its taps, with all beyond it as it stands."""

    block: Block
    beyond: March

    def march(self, end: float) -> tuple[float, March]:
        """Water surface [m] and what was found on the way back (`Block.march`)."""
        return self.block.march(end, self.beyond)

    def point(self, end: float, inlet: float, found: March) -> Point:
        """Water surface, effective, least and greatest head [m]."""
        block = self.block
        if inlet > block.limit:
            return block.limit + NOBODY_ASKS_M + end, math.inf, math.inf, math.inf
        law = block.network.sides[0].shape.law
        return inlet, law.head(found.flow / block.emitters), found.least, found.greatest

    def nearer(self, low: float, high: float) -> tuple[BlockShot, float, float] | None:
        """The same from the first tap at which two heads here make a difference."""
        _, below = self.march(low)
        _, above = self.march(high)
        place = first_visible(below.heads, above.heads, len(self.beyond.heads))
        if place is None:
            return None
        beyond = self.block.beyond(below, place)
        return BlockShot(self.block, beyond), below.heads[place], above.heads[place]
