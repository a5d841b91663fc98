"""How long a full tank runs through a block, and what it delivers.

A dH/dt = inflow - Q(H), from full down to the outlet. Water below the outlet is never delivered.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from service.errors import NotConverged
from service.sizing.tank import TankBody
from service.units import MINUTES_PER_HOUR, SECONDS_PER_HOUR, litres

Stop = Literal["outlet", "dry", "inflow"]
"""Why the level stops falling: at the outlet; earlier, since no emitter gives any more; earlier,
since the inflow keeps up."""

SECONDS_PER_MINUTE = SECONDS_PER_HOUR / MINUTES_PER_HOUR
PANELS = 8
AGREEMENT = 1e-3
"""Two reckonings, one twice as fine, must agree to this part of the time."""
LAST_M = 0.001
"""Where flow dies out or meets the inflow, the end is reached only after an endless time: the last
millimetre is left out."""
GAUSS = ((-math.sqrt(0.6), 5.0 / 9.0), (0.0, 8.0 / 9.0), (math.sqrt(0.6), 5.0 / 9.0))


@dataclass(frozen=True)
class Emptying:
    """One block and one tank, from full until the level stops falling.

    Times are integrated when first asked for.

    Attributes
    ----------
    flow : callable
        Flow [m³/s] at a water level above the tank's base [m].
    stop : str
        Why the level stops falling.
    stop_level : float
        Where [m above the tank's base].
    what : str
        Named when the time cannot be found.
    tail : float
        Height above `stop_level` in which the flow itself ends, too little to be looked up [m].
    """

    flow: Callable[[float], float]
    tank: TankBody
    stop: Stop
    stop_level: float
    what: str
    tail: float = 0.0

    @property
    def delivered_litres(self) -> float:
        """Of one fill [L], with what flows in meanwhile; what was stored if the inflow keeps up."""
        if self.stop == "inflow":
            return litres(self.tank.usable)
        if self.tank.inflow > 0.0:
            return self.litres[-1]
        return litres(self.tank.volume - self.tank.volume_at(self.stop_level))

    @property
    def empty_minutes(self) -> float | None:
        """Minutes from full to the outlet, None when flow stops earlier or never."""
        return self.minutes[-1] if self.stop == "outlet" else None

    @property
    def litres(self) -> Sequence[float]:
        """Water given since the tank was full [L], growing."""
        return self._table[0]

    @property
    def minutes(self) -> Sequence[float]:
        """Time until each of `litres` [min]."""
        return self._table[1]

    @cached_property
    def _table(self) -> tuple[Sequence[float], Sequence[float]]:
        tank = self.tank
        if self.stop_level >= tank.depth:
            return (0.0,), (0.0,)
        levels, seconds = _timetable(self.flow, self.stop_level + self.tail, tank, self.what)
        if self.tail > 0.0:
            levels = [*levels, self.stop_level]
            seconds = [
                *seconds,
                seconds[-1] + _last_seconds(self.flow, levels[-2], self.tail, tank),
            ]
        given = tuple(
            litres(tank.volume - tank.volume_at(level) + tank.inflow * time)
            for level, time in zip(levels, seconds, strict=True)
        )
        return given, tuple(time / SECONDS_PER_MINUTE for time in seconds)

    def minutes_at(self, given_litres: float) -> float | None:
        """Minutes [min] until a full tank has given so much [L]; None when it never does.

        Raises
        ------
        NotConverged
            When the integral does not settle.
        """
        if given_litres <= 0.0:
            return 0.0
        if given_litres > self.litres[-1] * (1.0 + 1e-9):
            return None
        i = min(bisect_left(self.litres, given_litres), len(self.litres) - 1)
        low, high = self.litres[i - 1], self.litres[i]
        share = min(1.0, (given_litres - low) / (high - low))
        return self.minutes[i - 1] + share * (self.minutes[i] - self.minutes[i - 1])


def emptying(
    flow: Callable[[float], float], dry_level: float, tank: TankBody, what: str = "a tank"
) -> Emptying:
    """Emptying of a tank through whatever gives `flow`.

    Parameters
    ----------
    flow : callable
        Flow [m³/s] at a water level above the tank's base [m]; grows with the level.
    dry_level : float
        Level [m] at or below which it is 0; may be below the base.
    tank : TankBody
        Full at the start.
    what : str
        Named when the time cannot be found.
    """
    stop_level, stop = _stop(flow, dry_level, tank)
    tail = LAST_M if stop == "outlet" and dry_level > stop_level - LAST_M else 0.0
    return Emptying(flow, tank, stop, stop_level, what, tail)


def _stop(flow: Callable[[float], float], dry_level: float, tank: TankBody) -> tuple[float, Stop]:
    """Return the level at which the fall ends [m], and why."""
    if tank.inflow <= 0.0:
        early = dry_level > tank.outlet + 1e-9 or (
            dry_level > tank.outlet - LAST_M and _fades(flow, tank.outlet)
        )
        return (min(dry_level + LAST_M, tank.depth), "dry") if early else (tank.outlet, "outlet")
    if flow(tank.outlet) > tank.inflow:
        return tank.outlet, "outlet"
    if flow(tank.depth) <= tank.inflow:
        return tank.depth, "inflow"
    low, high = tank.outlet, tank.depth
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        if flow(middle) > tank.inflow:
            high = middle
        else:
            low = middle
    return min(high + LAST_M, tank.depth), "inflow"


def _fades(flow: Callable[[float], float], outlet: float) -> bool:
    """Tell whether the flow dies away towards the outlet so that it is never reached.

    Where all emitters end at once, flow goes with a root of the height left and the time is finite.
    Where they end one after the other, as on a slope, it falls faster than the height itself.
    """
    return flow(outlet + 4.0 * LAST_M) >= 0.95 * 4.0 * flow(outlet + LAST_M)


def _last_seconds(
    flow: Callable[[float], float], level: float, height: float, tank: TankBody
) -> float:
    """Seconds of the last `height` [m] below a level, in which the flow ends like a power of it.

    So close to its end the flow is known by its power alone; the integral of one over it is then
    closed: A h / (Q (1 - power)).
    """
    last = flow(level)
    power = math.log(flow(level + 3.0 * height) / last) / math.log(4.0)
    return tank.area(level) * height / (last * (1.0 - power))


def _timetable(
    flow: Callable[[float], float], bottom: float, tank: TankBody, what: str
) -> tuple[Sequence[float], Sequence[float]]:
    """Return levels [m] from full down to `bottom` and the seconds at which each is reached."""
    panels = PANELS
    levels, seconds = _integrated(flow, bottom, tank, panels)
    while panels < 4096:
        panels *= 2
        before = seconds[-1]
        levels, seconds = _integrated(flow, bottom, tank, panels)
        if abs(seconds[-1] - before) <= AGREEMENT * seconds[-1]:
            return levels, seconds
    raise NotConverged(f"emptying of {what}", abs(seconds[-1] - before))


def _integrated(
    flow: Callable[[float], float], bottom: float, tank: TankBody, panels: int
) -> tuple[Sequence[float], Sequence[float]]:
    """Return the time table by Gauss points on panels that crowd towards the bottom.

    Flow may vanish at the bottom like a root of the height above it; with level = bottom + fall u²
    the integrand stays finite, and Gauss points never touch the end itself.
    """
    fall, width = tank.depth - bottom, 1.0 / panels
    levels, seconds, time = [tank.depth], [0.0], 0.0
    for panel in range(panels - 1, -1, -1):
        middle = (panel + 0.5) * width
        for point, weight in GAUSS:
            u = middle + 0.5 * width * point
            level = bottom + fall * u * u
            rate = flow(level) - tank.inflow
            time += 0.5 * width * weight * tank.area(level) * 2.0 * fall * u / rate
        u = panel * width
        levels.append(bottom + fall * u * u)
        seconds.append(time)
    return levels, seconds
