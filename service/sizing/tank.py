"""The tank as a body of water: area and volume at a level above its base; SI units."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from service.sizing.card import Tank
from service.units import cubic_metres, cubic_metres_per_second


@dataclass(frozen=True, slots=True)
class TankBody:
    """A tank with vertical sides, or a drum lying on its side.

    Attributes
    ----------
    volume : float
        When full [m³].
    depth : float
        Of the water when full [m]; for a lying drum its inside diameter.
    outlet : float
        Height of the outlet above the base [m]; water below it stays.
    inflow : float
        Brought while the tank drains [m³/s].
    """

    shape: Literal["upright", "lying"]
    volume: float
    depth: float
    outlet: float
    inflow: float = 0.0

    def area(self, level: float) -> float:
        """Area of the water surface [m²] at a level [m]."""
        if self.shape == "upright":
            return self.volume / self.depth
        within = min(max(level, 0.0), self.depth)
        # Volume = pi/4 d² L gives the drum's length L; the surface is a chord times L.
        length = 4.0 * self.volume / (math.pi * self.depth**2)
        return 2.0 * length * math.sqrt(within * (self.depth - within))

    def volume_at(self, level: float) -> float:
        """Volume [m³] below a level [m]."""
        share = min(max(level / self.depth, 0.0), 1.0)
        if self.shape == "lying":
            # Circular segment of relative height `share`, over the whole circle.
            angle = 2.0 * math.acos(1.0 - 2.0 * share)
            share = (angle - math.sin(angle)) / (2.0 * math.pi)
        return self.volume * share

    @property
    def usable(self) -> float:
        """Volume above the outlet [m³]."""
        return self.volume - self.volume_at(self.outlet)


def tank_body(tank: Tank) -> TankBody:
    """Body of a card's tank."""
    return TankBody(
        shape=tank.shape,
        volume=cubic_metres(tank.volume_l),
        depth=tank.water_depth_m,
        outlet=tank.outlet_height_m,
        inflow=cubic_metres_per_second(tank.inflow_lph),
    )
