"""Tap marks in metres from the tank, the sides of the plot, and the scale."""

from __future__ import annotations

from service.drawing.ground import Ground
from service.drawing.paper import (
    BLOCK_ROW,
    LETTER_WIDTH,
    MEASURE_ROW,
    PLAIN,
    RULER_CAPTION,
    RULER_TICK,
    SMALL,
    Labels,
    Paper,
)
from service.drawing.scale import bar_length, label_every
from service.drawing.svg import INK, PIPE, QUIET
from service.phrases import Number, Phrase, say


def ruler_room(ground: Ground, labels: Labels) -> float:
    """Room that the tap marks take beside the plot [mm]."""
    longest = max(len(_figure(tap, labels)) for tap in ground.taps_m)
    return RULER_TICK + longest * LETTER_WIDTH * SMALL + RULER_CAPTION


def _figure(tap: float, labels: Labels) -> str:
    return labels(Phrase("{n}", {"n": Number(tap, 2)}))


def tap_ruler(paper: Paper) -> None:
    """Mark every tap beside the plot, in metres from the tank, as many in figures as fit."""
    ground = paper.ground
    every = label_every(paper.pitch, 3.2)
    last = len(ground.taps_m) - 1
    for number, tap in enumerate(ground.taps_m):
        # The last tap is always told; a neighbour too near to it gives way.
        told = number == last or (number % every == 0 and last - number >= every)
        _tick(paper, tap, told)
    words = paper.labels(say("taps: m from the tank"))
    x, y = paper.at(ground.along_m / 2.0, 0.0)
    away = ruler_room(ground, paper.labels) - SMALL
    place = (x - away, y) if ground.down else (x, y - away)
    paper.canvas.write(place, words, SMALL, "middle", turned=ground.down, colour=QUIET)


def _tick(paper: Paper, tap: float, told: bool) -> None:
    x, y = paper.at(tap, 0.0)
    end = RULER_TICK - 0.8 if told else 2.0
    colour = INK if told else QUIET
    if paper.ground.down:
        paper.canvas.line((x - 1.0, y), (x - end, y), 0.18, colour, class_="tick")
    else:
        paper.canvas.line((x, y - 1.0), (x, y - end), 0.18, colour, class_="tick")
    if not told:
        return
    figure = _figure(tap, paper.labels)
    if paper.ground.down:
        paper.canvas.write((x - RULER_TICK, y + 0.8), figure, SMALL, "end")
    else:
        paper.canvas.write((x + 0.8, y - RULER_TICK), figure, SMALL, "start", turned=True)


def measures(paper: Paper) -> None:
    """Give the plot's sides, and where the middle is when the tank stands there."""
    ground = paper.ground
    x, y = paper.origin
    blocks = BLOCK_ROW if len(ground.bands) > 1 else 0.0
    low = y + paper.height + 5.0 + (0.0 if ground.down else blocks)
    right = x + paper.width + 5.0 + (blocks if ground.down else 0.0)
    if ground.middle and ground.down:
        half = paper.width / 2.0
        for start in (x, x + half):
            _flat(paper, start, start + half, low, ground.width_m / 2.0)
        low += MEASURE_ROW
    if ground.middle and not ground.down:
        half = paper.height / 2.0
        for start in (y, y + half):
            _upright(paper, start, start + half, right, ground.height_m / 2.0)
        right += MEASURE_ROW
    _flat(paper, x, x + paper.width, low, ground.width_m)
    _upright(paper, y, y + paper.height, right, ground.height_m)


def _flat(paper: Paper, start: float, end: float, y: float, length_m: float) -> None:
    canvas = paper.canvas
    canvas.line((start, y), (end, y), 0.18, INK)
    for x in (start, end):
        canvas.line((x, y - 0.9), (x, y + 0.9), 0.18, INK)
    canvas.write(((start + end) / 2.0, y - 0.8), paper.metres(length_m), PLAIN, "middle")


def _upright(paper: Paper, start: float, end: float, x: float, length_m: float) -> None:
    canvas = paper.canvas
    canvas.line((x, start), (x, end), 0.18, INK)
    for y in (start, end):
        canvas.line((x - 0.9, y), (x + 0.9, y), 0.18, INK)
    middle = (start + end) / 2.0
    canvas.write((x - 0.8, middle), paper.metres(length_m), PLAIN, "middle", turned=True)


def scale_bar(paper: Paper, scale: int) -> None:
    """Draw a bar and say the scale, below the plot."""
    ground, canvas = paper.ground, paper.canvas
    x, y = paper.origin
    halves = MEASURE_ROW if ground.middle and ground.down else 0.0
    blocks = BLOCK_ROW if len(ground.bands) > 1 and not ground.down else 0.0
    y += paper.height + 11.5 + halves + blocks
    length = bar_length(scale, 40.0)
    bar = length * paper.mm_per_m
    canvas.box((x, y - 1.0), bar / 2.0, 1.0, PIPE, PIPE, stroke_width="0.2")
    canvas.box((x + bar / 2.0, y - 1.0), bar / 2.0, 1.0, "#ffffff", PIPE, stroke_width="0.2")
    values = {"n": Number(length, 1), "scale": Number(scale)}
    words = (
        say("{n} m. Scale 1:{scale}; tank, valves and filter are only signs.", **values)
        if len(ground.bands) < 2
        else say(
            "{n} m. Scale 1:{scale}; tank, valves, filter and the gap to a block's pipe "
            "are only signs.",
            **values,
        )
    )
    canvas.write((x + bar + 1.5, y), paper.labels(words), SMALL)
