"""The network that a card means: taps, pieces of submain and driplines in their places.

Ground at the tank is 0. A vertical pipe as long as the stand is high leads to the submain, which
carries taps at (i + 1/2) * spacing; at each tap leaves one dripline (tank at a corner) or two,
one to either side (tank at the middle of a side).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.errors import CardError, FieldProblem
from service.sizing.card import PlotCard
from service.sizing.emitters import emitter_law
from service.sizing.friction import PipeLaw
from service.sizing.inlet import usual_inlet_k
from service.sizing.lines import Line, LineShape
from service.sizing.result import LinesRun, TankPosition
from service.sizing.water import kinematic_viscosity
from service.units import metres

CONTRACTION_K = 0.5
"""Of d1 to d2, K = 0.5 (1 - (d2/d1)^2) on the narrow pipe: from memory, not verified."""


class Lines:
    """Driplines already reckoned, so that equal ones share their curve across layouts and bores."""

    __slots__ = ("_known", "highest")

    def __init__(self, highest: float = 4.0) -> None:
        self._known: dict[LineShape, Line] = {}
        self.highest = highest

    def __call__(self, shape: LineShape) -> Line:
        """Return the line of this shape."""
        line = self._known.get(shape)
        if line is None:
            line = self._known[shape] = Line(shape, self.highest)
        return line


@dataclass(frozen=True, slots=True)
class Piece:
    """Submain between two taps (the first: from the foot of the stand to the first tap)."""

    length: float
    law: PipeLaw
    minor_k: float = 0.0


@dataclass(frozen=True, slots=True)
class Network:
    """One layout of one plot, with its lines; SI units.

    Attributes
    ----------
    taps : tuple of float
        Distance of each tap from the tank [m].
    ground : tuple of float
        Elevation of each tap [m].
    rises : tuple of float
        Of the ground along the piece of submain before each tap [m].
    pieces : tuple of Piece
        Submain before each tap.
    sides : tuple of Line
        The driplines at each tap: one, or two (uphill side first when the slope is positive).
    down : Piece
        The pipe down the stand, with the fittings at the tank.
    """

    position: TankPosition
    lines_run: LinesRun
    line_length: float
    spacing: float
    taps: tuple[float, ...]
    ground: tuple[float, ...]
    rises: tuple[float, ...]
    pieces: tuple[Piece, ...]
    sides: tuple[Line, ...]
    down: Piece
    stand: float
    bore: float

    @property
    def line_count(self) -> int:
        """Driplines of all taps."""
        return len(self.taps) * len(self.sides)

    @property
    def emitters_per_line(self) -> int:
        """Emitters of one dripline."""
        return self.sides[0].shape.emitters

    @property
    def lowest(self) -> float:
        """Elevation of the lowest emitter of a tap above the ground there [m]."""
        return min(line.lowest for line in self.sides)

    def dry_surface(self, first: int, last: int) -> float:
        """Water surface [m] at or below which no emitter of the taps first..last gives water."""
        return self.lowest + min(self.ground[first : last + 1])


def whole_spacings(count: float) -> int:
    """Whole number of spacings in a length, forgiving the last float digit."""
    return math.floor(count + 1e-9)


def network_of(
    card: PlotCard,
    position: TankPosition,
    lines_run: LinesRun,
    bore: float,
    lines: Lines | None = None,
) -> Network:
    """Network of a card laid one way.

    Parameters
    ----------
    card : PlotCard
        The plot.
    position, lines_run : str
        Where the tank stands; the side of the plot along which driplines lie.
    bore : float
        Of submain and down pipe [m].
    lines : Lines, optional
        Keeps the curves of lines for other layouts of the same card.

    Raises
    ------
    CardError
        When the plot is too small for one tap or one emitter.
    """
    known = Lines() if lines is None else lines
    plot, spacing = card.plot, card.spacing_m
    along, across = (
        (plot.length_m, plot.width_m) if lines_run == "length" else (plot.width_m, plot.length_m)
    )
    line_slope, submain_slope = (
        (plot.slope_length_pct / 100.0, plot.slope_width_pct / 100.0)
        if lines_run == "length"
        else (plot.slope_width_pct / 100.0, plot.slope_length_pct / 100.0)
    )
    line_length = along if position == "corner" else along / 2.0
    count = whole_spacings(across / spacing)
    emitters = whole_spacings(line_length / card.dripline.emitter_spacing_m)
    _check_room(card, lines_run, count, emitters)
    taps = tuple((i + 0.5) * spacing for i in range(count))
    slopes = (line_slope,) if position == "corner" else (line_slope, -line_slope)
    viscosity = kinematic_viscosity(card.water_temp_c)
    law = PipeLaw(bore, viscosity)
    inlet_k = usual_inlet_k(bore, card.filter) if card.inlet_k is None else card.inlet_k
    return Network(
        position=position,
        lines_run=lines_run,
        line_length=line_length,
        spacing=spacing,
        taps=taps,
        ground=tuple(submain_slope * tap for tap in taps),
        rises=tuple(submain_slope * spacing * (0.5 if i == 0 else 1.0) for i in range(count)),
        pieces=_pieces(card, taps, law, viscosity),
        sides=tuple(known(_shape(card, emitters, slope, viscosity)) for slope in slopes),
        down=Piece(card.stand_height_m, law, inlet_k),
        stand=card.stand_height_m,
        bore=bore,
    )


def _check_room(card: PlotCard, lines_run: LinesRun, count: int, emitters: int) -> None:
    length, width = (
        FieldProblem("plot.length_m", card.plot.length_m, ""),
        FieldProblem("plot.width_m", card.plot.width_m, ""),
    )
    along, across = (length, width) if lines_run == "length" else (width, length)
    problems = []
    if count < 1:
        allowed = f"allowed: room for one line, at least {card.spacing_m:g} m across the lines"
        problems.append(replace(across, allowed=allowed))
    if emitters < 1:
        spacing = card.dripline.emitter_spacing_m
        allowed = f"allowed: room for one emitter on each line, every {spacing:g} m"
        problems.append(replace(along, allowed=allowed))
    if problems:
        raise CardError(problems)


def _shape(card: PlotCard, emitters: int, slope: float, viscosity: float) -> LineShape:
    dripline = card.dripline
    return LineShape(
        emitters=emitters,
        spacing=dripline.emitter_spacing_m,
        barb=dripline.barb_loss_m,
        slope=slope,
        bore=metres(dripline.inner_diameter_mm),
        viscosity=viscosity,
        tap_k=card.tap_k,
        law=emitter_law(dripline),
    )


def _pieces(
    card: PlotCard, taps: Sequence[float], law: PipeLaw, viscosity: float
) -> tuple[Piece, ...]:
    spacing, second = card.spacing_m, card.submain.second
    lengths = [0.5 * spacing] + [spacing] * (len(taps) - 1)
    if second is None or second.from_tap >= len(taps):
        return tuple(Piece(length, law) for length in lengths)
    narrow = PipeLaw(metres(second.inner_diameter_mm), viscosity)
    reducer = CONTRACTION_K * max(0.0, 1.0 - (narrow.bore / law.bore) ** 2)
    wide = [Piece(length, law) for length in lengths[: second.from_tap]]
    thin = [Piece(length, narrow) for length in lengths[second.from_tap :]]
    return (*wide, replace(thin[0], minor_k=reducer), *thin[1:])
