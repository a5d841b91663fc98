"""A piece of paper with a plot laid on it to scale."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from service.drawing.ground import Ground
from service.drawing.svg import Canvas, Point
from service.phrases import Number, Phrase, say

Labels = Callable[[Phrase], str]
"""Words of a phrase in the reader's language."""

SMALL, PLAIN = 2.4, 2.9
"""Letter sizes [mm]."""
LETTER_WIDTH = 0.58
"""Usual width of a figure over the letter size, to leave room for words; a little too much."""
BLOCK_ROW, MEASURE_ROW = 5.0, 5.5
"""Room for the names of blocks, and for one row of measures [mm]."""
RULER_CAPTION = 4.5
"""Room for the words along the tap marks [mm]."""
RULER_TICK = 4.4
"""From the plot's edge to the figures of the tap marks [mm]."""


@dataclass(frozen=True, slots=True)
class Margins:
    """Room around the plot for tank, tap marks and measures [mm]."""

    left: float
    top: float
    right: float
    bottom: float


def margins_of(ground: Ground, ruler_mm: float) -> Margins:
    """Room around a plot whose tap marks take `ruler_mm`."""
    halves = MEASURE_ROW if ground.middle else 0.0
    blocks = BLOCK_ROW if len(ground.bands) > 1 else 0.0
    if ground.down:
        return Margins(ruler_mm, 21.0, MEASURE_ROW + blocks + 1.0, 15.0 + halves)
    return Margins(26.0, ruler_mm, MEASURE_ROW + halves + 1.0, 15.0 + blocks)


@dataclass(frozen=True, slots=True)
class Paper:
    """Ground laid on paper.

    Attributes
    ----------
    origin : tuple of float
        The plot's top left corner [mm].
    mm_per_m : float
        The scale.
    """

    canvas: Canvas
    ground: Ground
    labels: Labels
    origin: Point
    mm_per_m: float

    def at(self, along_m: float, across_m: float, aside_mm: float = 0.0) -> Point:
        """Place on paper [mm]; `aside_mm` shifts it across the submain."""
        x, y = self.ground.at(along_m * self.mm_per_m, across_m * self.mm_per_m + aside_mm)
        return self.origin[0] + x, self.origin[1] + y

    @property
    def width(self) -> float:
        """Width of the plot on paper [mm]."""
        return self.ground.width_m * self.mm_per_m

    @property
    def height(self) -> float:
        """Height of the plot on paper [mm]."""
        return self.ground.height_m * self.mm_per_m

    @property
    def pitch(self) -> float:
        """Distance between taps on paper [mm]; plenty when there is one."""
        taps = self.ground.taps_m
        return (taps[1] - taps[0]) * self.mm_per_m if len(taps) > 1 else 100.0

    def metres(self, value: float) -> str:
        """A length as a person of the language writes it."""
        return self.labels(say("{n} m", n=Number(value, 2)))
