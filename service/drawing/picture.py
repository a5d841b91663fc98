"""The scaled picture of a layout: plot, tank, submain, taps, lines, blocks and measures."""

from __future__ import annotations

from dataclasses import dataclass

from service.drawing.ground import Band, ground_of
from service.drawing.measures import measures, ruler_room, scale_bar, tap_ruler
from service.drawing.paper import PLAIN, SMALL, Labels, Paper, margins_of
from service.drawing.scale import MM_PER_M, scale_for
from service.drawing.svg import BAND, INK, LINE, PIPE, WATER, Canvas, Point
from service.phrases import Number, say
from service.sizing.card import PlotCard
from service.sizing.result import Layout

TANK_MM = 4.2
"""Radius of the tank's sign: not to scale."""
HEADER_GAP_MM = 4.6
"""Between the submain and a header beside it: wider than on the ground, so that the valve between
them is seen."""
VALVE_GAP_MM = 2.6
"""Between a valve's sign on the submain and the first tap after it."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing and the paper that it takes [mm]."""

    canvas: Canvas
    width: float
    height: float
    scale: int


def picture(
    card: PlotCard,
    layout: Layout,
    labels: Labels,
    width: float,
    height: float,
) -> Picture:
    """The scaled picture of a layout on paper of at most a size [mm].

    Raises
    ------
    ValueError
        The paper has no room for the plot at any scale.
    """
    ground = ground_of(card, layout)
    margins = margins_of(ground, ruler_room(ground, labels))
    inner_width = width - margins.left - margins.right
    inner_height = height - margins.top - margins.bottom
    scale = scale_for(ground.width_m, ground.height_m, inner_width, inner_height)
    mm_per_m = MM_PER_M / scale
    spare = inner_width - ground.width_m * mm_per_m
    origin = (margins.left + spare / 2.0, margins.top)
    paper = Paper(Canvas(), ground, labels, origin, mm_per_m)
    _bands(paper)
    _lines(paper)
    _plot_edge(paper)
    _submain(paper)
    _tank(paper, card)
    _taps(paper)
    tap_ruler(paper)
    measures(paper)
    scale_bar(paper, scale)
    return Picture(paper.canvas, width, margins.top + paper.height + margins.bottom, scale)


def _bands(paper: Paper) -> None:
    """Tint every second block, and name the blocks at the far side."""
    ground, canvas = paper.ground, paper.canvas
    if len(ground.bands) < 2:
        return
    for band in ground.bands:
        start, end = max(0.0, band.start_m), min(ground.along_m, band.end_m)
        if band.number % 2:
            (x, y), (right, low) = paper.at(start, 0.0), paper.at(end, ground.across_m)
            canvas.box((x, y), right - x, low - y, BAND)
        x, y = paper.at((start + end) / 2.0, ground.across_m)
        words = paper.labels(say("Block {n}", n=band.number))
        if ground.down:
            canvas.write((x + 4.0, y), words, PLAIN, "middle", turned=True, bold=True)
        else:
            canvas.write((x, y + 4.0), words, PLAIN, "middle", bold=True)


def _lines(paper: Paper) -> None:
    thick = min(0.25, 0.2 * paper.pitch)
    for along, start, end in paper.ground.lines():
        far = paper.at(along, end)
        paper.canvas.line(paper.at(along, start), far, thick, LINE, class_="line")
        paper.canvas.disc(far, 1.4 * thick, LINE)


def _plot_edge(paper: Paper) -> None:
    width, height = paper.width, paper.height
    paper.canvas.box(paper.origin, width, height, "none", INK, stroke_width="0.35", class_="plot")


def _gap(paper: Paper, tap_m: float) -> float:
    """Return how far a tap's pipe lies beside the submain [mm]: headers do, all but the last."""
    beside = any(band.first_m <= tap_m <= band.last_m for band in paper.ground.bands[:-1])
    room = paper.ground.line_m * paper.mm_per_m
    return min(HEADER_GAP_MM, 0.4 * room) if beside else 0.0


def _submain(paper: Paper) -> None:
    """Draw the submain, and beside it the header of every block but the last."""
    ground, canvas, axis = paper.ground, paper.canvas, paper.ground.axis_m
    end = paper.at(ground.taps_m[-1], axis)
    canvas.line(paper.at(0.0, axis), end, 0.9, PIPE, class_="submain", stroke_linecap="round")
    for band in ground.bands[:-1]:
        _header(paper, band)
    if len(ground.bands) > 1:
        # Far enough before the first tap not to cover it, whatever the scale.
        last = ground.bands[-1].first_m - VALVE_GAP_MM / paper.mm_per_m
        before = paper.at(max(0.0, last), axis)
        _valve(paper.canvas, before, upright=ground.down)


def _branch_m(paper: Paper, band: Band) -> float:
    """Return where a block's pipe begins [m]: a little before its first tap."""
    return max(0.0, band.first_m - 0.35 * min(paper.pitch, 7.0) / paper.mm_per_m)


def _header(paper: Paper, band: Band) -> None:
    """Draw the pipe of a block that lies beside the submain, and the valve that leads to it."""
    canvas, axis = paper.canvas, paper.ground.axis_m
    gap, branch = _gap(paper, band.first_m), _branch_m(paper, band)
    turn = paper.at(branch, axis, gap)
    end = paper.at(band.last_m, axis, gap)
    canvas.line(paper.at(branch, axis), turn, 0.7, PIPE, stroke_linecap="round")
    canvas.line(turn, end, 0.7, PIPE, class_="header", stroke_linecap="round")
    _valve(canvas, paper.at(branch, axis, gap / 2.0), upright=not paper.ground.down)


def _valve(canvas: Canvas, place: Point, upright: bool) -> None:
    """Draw a valve's sign, two wedges that meet, on a pipe that runs upright or flat."""
    x, y = place
    wedge, half = 1.5, 1.1
    for way in (-1, 1):
        corners = (
            [(x, y), (x - half, y + way * wedge), (x + half, y + way * wedge)]
            if upright
            else [(x, y), (x + way * wedge, y - half), (x + way * wedge, y + half)]
        )
        canvas.shape(corners, "#ffffff", PIPE, stroke_width="0.3", class_="valve")


def _tank(paper: Paper, card: PlotCard) -> None:
    """Draw tank, valve and filter before the start of the submain, not to scale."""
    ground, canvas = paper.ground, paper.canvas
    start_x, start_y = paper.at(0.0, ground.axis_m)
    step_x, step_y = (0.0, -1.0) if ground.down else (-1.0, 0.0)

    def before(mm: float) -> Point:
        return start_x + step_x * mm, start_y + step_y * mm

    canvas.line(before(0.0), before(12.0), 0.9, PIPE)
    centre = before(16.0)
    canvas.disc(centre, TANK_MM, WATER, INK, stroke_width="0.4", class_="tank")
    _valve(canvas, before(9.0), upright=ground.down)
    _sign_name(paper, before(9.0), paper.labels(say("valve")))
    if card.filter:
        _filter(canvas, before(4.4))
        _sign_name(paper, before(4.4), paper.labels(say("filter")))
    _tank_words(paper, card, centre)


def _filter(canvas: Canvas, place: Point) -> None:
    x, y = place
    canvas.box((x - 1.3, y - 1.3), 2.6, 2.6, "#ffffff", PIPE, stroke_width="0.3", class_="filter")
    for shift in (-0.65, 0.0, 0.65):
        canvas.line((x + shift, y - 1.3), (x + shift, y + 1.3), 0.15, PIPE)


def _sign_name(paper: Paper, place: Point, words: str) -> None:
    x, y = place
    if paper.ground.down:
        paper.canvas.write((x + 2.4, y + 0.8), words, SMALL)
    else:
        paper.canvas.write((x + 0.8, y - 2.2), words, SMALL, turned=True)


def _tank_words(paper: Paper, card: PlotCard, centre: Point) -> None:
    phrases = (
        say("tank {litres} L", litres=Number(card.tank.volume_l)),
        say("stand {height} m", height=Number(card.stand_height_m, 2)),
    )
    x, y = centre
    place = (x + 6.0, y - 0.6) if paper.ground.down else (x - 9.0, y + 7.6)
    for row, phrase in enumerate(phrases):
        paper.canvas.write((place[0], place[1] + 3.4 * row), paper.labels(phrase), PLAIN)


def _taps(paper: Paper) -> None:
    radius = min(0.7, 0.36 * paper.pitch)
    for tap in paper.ground.taps_m:
        place = paper.at(tap, paper.ground.axis_m, _gap(paper, tap))
        paper.canvas.disc(place, radius, "#ffffff", PIPE, stroke_width="0.3", class_="tap")
