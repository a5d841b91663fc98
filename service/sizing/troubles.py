"""A plot with something wrong in it: what its emitters and an open line end give then.

The same pipes and laws as `network`, reckoned for lines that are no longer alike: a shut tap,
blocked emitters, a hole, a pinch, an end left open, a dirty filter, a valve half shut. A fault is
told by comparing what somebody measured with what this gives, for the plot as it should be and for
the plot with the fault. SI units.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

from service.errors import NotConverged
from service.sizing.card import PlotCard
from service.sizing.emptying import Emptying, emptying
from service.sizing.friction import PipeLaw
from service.sizing.geometry import Network
from service.sizing.inlet import usual_inlet_k
from service.sizing.lines import LineShape
from service.sizing.sized import Candidate
from service.sizing.water import GRAVITY

HOLE_FLOW = 0.6
"""Flow through a hole over that of a jet as wide as the hole [-]: usual, from memory."""
POINTS = 60
"""Points of a line's curve; between them flow^(1/exponent) is nearly straight in the head."""
LEAST_HEAD = 1e-5
SETTLED_M = 1e-7
DEEPEST_M = 60.0
"""No ground on a card falls further below its tank than this [m] while a line on it runs."""


@dataclass(frozen=True, slots=True)
class LineTrouble:
    """What is wrong on one line; places count from 1 at the tap.

    Attributes
    ----------
    shares : tuple of float
        Flow of each emitter over its usual one [-]; none given: all as usual.
    tap_k : float
        Further loss at the tap on the dripline's velocity head [-].
    pinch : tuple
        Place of an emitter, and the loss just before it on the velocity head [-].
    hole : tuple
        Place of an emitter, and the area of a hole beside it [m²].
    open_end : float
        Share of the bore that is open at the far end [-].
    shut : bool
        Nothing passes the tap.
    """

    shares: tuple[float, ...] = ()
    tap_k: float = 0.0
    pinch: tuple[int, float] | None = None
    hole: tuple[int, float] | None = None
    open_end: float = 0.0
    shut: bool = False


SOUND = LineTrouble()


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is wrong on a plot.

    Attributes
    ----------
    inlet_k : float
        Further loss between tank and main pipe on the main pipe's velocity head [-]: a valve that
        is not open, an outlet half blocked.
    filter_closed : float
        Share of the filter's mesh that is closed [-], below 1.
    filter_out : bool
        The filter element is taken out.
    share : float
        Flow of every emitter over its usual one [-].
    hole : tuple
        Number of a tap, and the area of a hole in the main pipe beside it [m²].
    lines : tuple
        Numbers of lines with what is wrong on them; lines count from 1 in tap order, at each tap
        side one, then side two.
    """

    inlet_k: float = 0.0
    filter_closed: float = 0.0
    filter_out: bool = False
    share: float = 1.0
    hole: tuple[int, float] | None = None
    lines: tuple[tuple[int, LineTrouble], ...] = ()

    def of_line(self, number: int) -> LineTrouble:
        """What is wrong on a line."""
        return dict(self.lines).get(number, SOUND)

    def with_line(self, number: int, **changes: object) -> Trouble:
        """The same with more wrong on one line."""
        changed = replace(self.of_line(number), **changes)  # type: ignore[arg-type]
        others = tuple(pair for pair in self.lines if pair[0] != number)
        return replace(self, lines=(*others, (number, changed)))


NONE_AT_ALL = Trouble()


class TroubledLine:
    """One line with what is wrong on it: its flow at a head at the tap, and its emitters'."""

    def __init__(self, shape: LineShape, trouble: LineTrouble, top: float) -> None:
        self._shape, self._trouble = shape, trouble
        self._pipe = PipeLaw(shape.bore, shape.viscosity)
        self._rise = shape.slope * shape.spacing
        self._power = 1.0 / shape.law.exponent
        self._ends = self._starts(top)
        marched = [self._march(end) for end in self._ends]
        self._heads = [head for head, _, _ in marched]
        self._powers = [math.pow(flow, self._power) for _, flow, _ in marched]

    def flow(self, head: float) -> float:
        """Flow into the line [m³/s] at a head at the tap [m]."""
        if self._trouble.shut or head <= self._heads[0]:
            return 0.0
        place, share = self._place(head)
        low, high = self._powers[place - 1], self._powers[place]
        return math.pow(low + share * (high - low), self._shape.law.exponent)

    def emitter_flows(self, head: float) -> tuple[float, ...]:
        """Flow of each emitter [m³/s], from the tap on, leaks beside them left out."""
        heads = self._found(head)[1][::-1]
        flow = self._shape.law.flow
        return tuple(share * flow(at) for share, at in zip(self._shares(), heads, strict=True))

    def end_flow(self, head: float) -> float:
        """Flow out of the far end [m³/s], if it is open."""
        return self._end_flow(self._found(head)[0])

    def _found(self, head: float) -> tuple[float, list[float]]:
        """Return the starting head and the heads at the emitters, the farthest first."""
        if self._trouble.shut or head <= self._heads[0]:
            return -1.0, [-1.0] * self._shape.emitters
        place, share = self._place(head)
        low, high = self._ends[place - 1], self._ends[place]
        end = low + share * (high - low)
        return end, self._march(end)[2]

    def _place(self, head: float) -> tuple[int, float]:
        place = min(bisect_right(self._heads, head), len(self._heads) - 1)
        low, high = self._heads[place - 1], self._heads[place]
        return place, (head - low) / (high - low)

    def _shares(self) -> tuple[float, ...]:
        return self._trouble.shares or (1.0,) * self._shape.emitters

    def _starts(self, top: float) -> list[float]:
        """Return heads at the far end from which nothing flows up to more than anybody has."""
        beyond = 0.5 if self._trouble.open_end else 0.0
        rise = self._rise * (self._shape.emitters - 1 + beyond)
        dry = min(0.0, -rise)
        wet = [dry - dry * step / POINTS for step in range(POINTS)] if dry < 0.0 else []
        reach = top + abs(rise) + 0.5
        ratio = math.pow(reach / LEAST_HEAD, 1.0 / POINTS)
        return [*wet, 0.0, *(LEAST_HEAD * math.pow(ratio, step) for step in range(POINTS + 1))]

    def _end_flow(self, end: float) -> float:
        if end <= 0.0 or not self._trouble.open_end:
            return 0.0
        area = self._trouble.open_end * math.pi * self._shape.bore**2 / 4.0
        return area * math.sqrt(2.0 * GRAVITY * end)

    def _march(self, end: float) -> tuple[float, float, list[float]]:
        """Return the head at the tap [m], the flow into the line [m³/s], heads at the emitters."""
        shape, trouble, pipe = self._shape, self._trouble, self._pipe
        shares = self._shares()
        flow, head = self._end_flow(end), end
        if trouble.open_end:
            head += pipe.loss(flow, 0.5 * shape.spacing) + 0.5 * self._rise
        heads = []
        for place in range(shape.emitters, 0, -1):
            heads.append(head)
            flow += shares[place - 1] * shape.law.flow(head) + _hole_flow(trouble.hole, place, head)
            minor = trouble.pinch[1] if trouble.pinch and trouble.pinch[0] == place else 0.0
            if place > 1:
                head += pipe.loss(flow, shape.spacing + shape.barb, minor) + self._rise
        last = shape.first_at * shape.spacing + shape.barb
        minor += shape.tap_k + trouble.tap_k
        return head + pipe.loss(flow, last, minor) + shape.first_at * self._rise, flow, heads


def _hole_flow(hole: tuple[int, float] | None, place: int, head: float) -> float:
    if hole is None or hole[0] != place or head <= 0.0:
        return 0.0
    return HOLE_FLOW * hole[1] * math.sqrt(2.0 * GRAVITY * head)


@lru_cache(maxsize=256)
def _line(shape: LineShape, trouble: LineTrouble, top: float) -> TroubledLine:
    return TroubledLine(shape, trouble, top)


@dataclass(frozen=True)
class Running:
    """The lines of one block while they run, at one water level."""

    flow: float
    """Of the whole block, leaks included [m³/s]."""
    lines: tuple[tuple[int, TroubledLine, float], ...]
    """Number of each running line, the line, and the head at its tap [m]."""

    def _line(self, number: int) -> tuple[TroubledLine, float]:
        return next((line, head) for at, line, head in self.lines if at == number)

    def emitter_flows(self, line: int) -> tuple[float, ...]:
        """Flow of each emitter of a running line [m³/s], from the tap on."""
        found, head = self._line(line)
        return found.emitter_flows(head)

    def line_flow(self, line: int) -> float:
        """Flow into a running line [m³/s]."""
        found, head = self._line(line)
        return found.flow(head)

    def end_flow(self, line: int) -> float:
        """Flow out of the open end of a running line [m³/s]; 0 when it is closed."""
        found, head = self._line(line)
        return found.end_flow(head)


@dataclass(frozen=True)
class TroubledBlock:
    """One block of a plot with what is wrong in it, at any water level."""

    one: Candidate
    trouble: Trouble = NONE_AT_ALL
    block: int = 0

    def running(self, level: float) -> Running:
        """What flows at a water level above the tank's base [m].

        Raises
        ------
        NotConverged
            When heads and flows do not agree.
        """
        surface = self._network.stand + level
        low, high = -DEEPEST_M, surface - self._network.ground[self._last]
        # Where nothing flows the two are equal, but for the last digits of a sum.
        if self._surface(high)[0] < surface - SETTLED_M:
            raise NotConverged("a plot with a fault", surface - high)
        while high - low > SETTLED_M:
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self._surface(middle)[0] < surface else (low, middle)
        _, flow, heads = self._surface(high)
        return Running(flow, self._lines_at(heads))

    def drain(self) -> Emptying:
        """How the full tank runs through this block."""
        network = self._network
        dry = network.dry_surface(self._first, self._last) - network.stand
        return emptying(lambda level: self.running(level).flow, dry, self.one.tank, "a faulty plot")

    @property
    def _network(self) -> Network:
        return self.one.network

    @property
    def _first(self) -> int:
        return self.one.blocks[self.block].first

    @property
    def _last(self) -> int:
        return self.one.blocks[self.block].last

    @cached_property
    def _lines(self) -> tuple[tuple[tuple[int, TroubledLine], ...], ...]:
        """The lines at each open tap, with their numbers."""
        network = self._network
        top = math.ceil(self.one.surface - min(0.0, *network.ground) + 0.5)
        shapes = [self._shape(line.shape) for line in network.sides]
        return tuple(
            tuple(
                (number, _line(shape, self.trouble.of_line(number), top))
                for number, shape in enumerate(shapes, tap * len(shapes) + 1)
            )
            for tap in range(self._first, self._last + 1)
        )

    def _shape(self, shape: LineShape) -> LineShape:
        law = replace(shape.law, factor=shape.law.factor * self.trouble.share)
        return replace(shape, law=law)

    @cached_property
    def _inlet_k(self) -> float:
        return inlet_k(self.one.card, self._network, self.trouble)

    def _lines_at(self, heads: tuple[float, ...]) -> tuple[tuple[int, TroubledLine, float], ...]:
        return tuple(
            (number, line, heads[tap])
            for tap, lines in enumerate(self._lines, self._first)
            for number, line in lines
        )

    def _surface(self, end: float) -> tuple[float, float, tuple[float, ...]]:
        """Return water surface [m], flow [m³/s] and tap heads [m] of a head at the last tap [m]."""
        network, hole = self._network, self.trouble.hole
        head, flow = end, 0.0
        heads = []
        for tap in range(self._last, -1, -1):
            if tap >= self._first:
                for _, line in self._lines[tap - self._first]:
                    flow += line.flow(head)
            if hole is not None:
                flow += _hole_flow(hole, tap + 1, head)
            heads.append(head)
            piece = network.pieces[tap]
            head += piece.law.loss(flow, piece.length, piece.minor_k) + network.rises[tap]
        down = network.down
        loss = down.law.loss(flow, down.length, self._inlet_k)
        return head + loss, flow, tuple(heads[::-1])


def filter_k(card: PlotCard, network: Network) -> float:
    """What the clean filter costs on the main pipe's velocity head [-]; 0 without a filter.

    Of a card that gives its own `inlet_k`, at most that.
    """
    if not card.filter:
        return 0.0
    bore = network.bore
    return min(usual_inlet_k(bore, True) - usual_inlet_k(bore, False), network.down.minor_k)


def inlet_k(card: PlotCard, network: Network, trouble: Trouble) -> float:
    """Loss between tank and main pipe with what is wrong there [-].

    A mesh of which a share is closed lets the water pass through the rest, so its loss goes with
    1 / (1 - share)² (derived).
    """
    screen = filter_k(card, network)
    now = 0.0 if trouble.filter_out else screen / (1.0 - trouble.filter_closed) ** 2
    return network.down.minor_k - screen + now + trouble.inlet_k


def block_of(one: Candidate, line: int) -> int:
    """Index of the block in which a line lies, lines counted from 1."""
    tap = (line - 1) // len(one.network.sides)
    return next(at for at, block in enumerate(one.blocks) if block.first <= tap <= block.last)
