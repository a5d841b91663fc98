"""Emitters: how much water one gives at a head."""

from __future__ import annotations

import math
from dataclasses import dataclass

from service.sizing.card import Dripline
from service.units import cubic_metres_per_second

SMALL_HEAD_M = 1e-4
"""Below a tenth of a millimetre flow is taken as proportional to head. By the bare power law
the heads along a starved line fall off so fast that they leave the range of floats."""


@dataclass(frozen=True, slots=True)
class EmitterLaw:
    """q = factor * h^exponent; at or below 0 m of head an emitter gives nothing.

    Attributes
    ----------
    factor : float
        Flow at 1 m of head [m³/s], calibration included.
    exponent : float
        Of the head [-], 0.05 to 1.2.
    """

    factor: float
    exponent: float

    @property
    def small_slope(self) -> float:
        """Flow over head below `SMALL_HEAD_M` [m²/s]."""
        return self.factor * math.pow(SMALL_HEAD_M, self.exponent - 1.0)

    def flow(self, head: float) -> float:
        """Flow [m³/s] at a head [m]."""
        if head > SMALL_HEAD_M:
            return self.factor * math.pow(head, self.exponent)
        return self.small_slope * head if head > 0.0 else 0.0

    def head(self, flow: float) -> float:
        """Head [m] at which one emitter gives a flow [m³/s], 0 or more."""
        small = flow / self.small_slope
        if small <= SMALL_HEAD_M:
            return small
        return math.pow(flow / self.factor, 1.0 / self.exponent)


def emitter_law(dripline: Dripline) -> EmitterLaw:
    """Law of a card's emitters: k = flow / reference head^exponent, times the calibration.

    Below 1 to 2 m of head a labyrinth may leave its rated curve by some 20 % (field tests at 0.5 to
    1 m, read in an abstract): plan with the rated point, then calibrate.
    """
    rated = cubic_metres_per_second(dripline.emitter_flow_lph)
    factor = rated / math.pow(dripline.reference_head_m, dripline.exponent)
    return EmitterLaw(factor * dripline.calibration, dripline.exponent)
