"""A plot that lies already: what somebody counts on it, and the one layout that this means.

A plan enumerates layouts; here the lines are in the ground, so their number and length fix the
layout, and only a main pipe whose size nobody can read is still chosen by computing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from service.sizing.card import DEFAULT_LINE_SPACING_M, PlotCard
from service.sizing.layouts import size_layouts
from service.sizing.pipes import PipeSize
from service.sizing.result import TankPosition
from service.sizing.sized import Candidate, candidate
from service.units import millimetres

Sides = Literal[1, 2]
"""Sides of the main pipe on which lines lie."""


@dataclass(frozen=True, slots=True)
class LaidLines:
    """Lines as counted on the ground.

    Attributes
    ----------
    lines : int
        All of them, 1 or more.
    line_length : float
        Of one line, from the main pipe to its end [m].
    spacing : float
        Between neighbours [m].
    sides : int
        1: all leave the main pipe to one side; 2: to both sides, as many on each.
    """

    lines: int
    line_length: float
    spacing: float = DEFAULT_LINE_SPACING_M
    sides: Sides = 1

    @property
    def taps(self) -> int:
        """Places where lines leave the main pipe; an odd line on two sides has a place alone."""
        return math.ceil(self.lines / self.sides)

    @property
    def position(self) -> TankPosition:
        """Where the tank stands."""
        return "corner" if self.sides == 1 else "mid_side"

    @property
    def plot_length(self) -> float:
        """Side of the plot along which lines lie [m]."""
        return self.line_length * self.sides

    @property
    def plot_width(self) -> float:
        """Side of the plot along the main pipe [m]: half a spacing beyond the outer lines."""
        return self.taps * self.spacing


def with_known_bore(card: PlotCard, pipes: Sequence[PipeSize]) -> PlotCard:
    """Return the card with a size for its main pipe.

    A size that nobody could read is taken as the smallest that waters this layout evenly enough,
    as a fitter would have chosen, with the emitters as printed: a calibration must not change the
    pipe.

    Raises
    ------
    CardError
        No room for a line and an emitter.
    """
    if card.submain.inner_diameter_mm is not None:
        return card
    best = size_layouts(card, pipes).best
    submain = card.submain.model_copy(
        update={"inner_diameter_mm": round(millimetres(best.network.bore), 3)}
    )
    return card.model_copy(update={"submain": submain})


def laid_candidate(card: PlotCard, pipes: Sequence[PipeSize]) -> Candidate:
    """Return the layout of a card that fixes it wholly; CardError as `with_known_bore`."""
    return size_layouts(card, pipes).best


def all_open(one: Candidate) -> Candidate:
    """Return the same plot with the valves of all its blocks open at once."""
    return one if len(one.blocks) == 1 else candidate(one.card, one.network, 1)
