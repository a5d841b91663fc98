"""Conversions between what people say and the SI units of the core; done once, at the edge."""

from __future__ import annotations

LITRES_PER_CUBIC_METRE = 1000.0
SECONDS_PER_HOUR = 3600.0
MINUTES_PER_HOUR = 60.0

FOOT_M = 0.3048
"""International foot [m], by definition."""
PACE_M = 0.75
"""One walking step of an adult [m]: common practice, no source."""
BUCKET_L = 20.0
"""The usual water bucket or jerrycan [L]: common practice, no source."""
DRUM_L = 200.0
"""The usual oil drum [L]: common practice, no source."""


def cubic_metres_per_second(litres_per_hour: float) -> float:
    """Flow [m³/s] of a flow in litres per hour."""
    return litres_per_hour / (LITRES_PER_CUBIC_METRE * SECONDS_PER_HOUR)


def litres_per_hour(cubic_metres_per_second: float) -> float:
    """Flow [L/h] of a flow in m³/s."""
    return cubic_metres_per_second * LITRES_PER_CUBIC_METRE * SECONDS_PER_HOUR


def metres(millimetres: float) -> float:
    """Length [m] of a length in millimetres."""
    return millimetres / 1000.0


def millimetres(metres: float) -> float:
    """Length [mm] of a length in metres."""
    return metres * 1000.0


def cubic_metres(litres: float) -> float:
    """Volume [m³] of a volume in litres."""
    return litres / LITRES_PER_CUBIC_METRE


def litres(cubic_metres: float) -> float:
    """Volume [L] of a volume in m³."""
    return cubic_metres * LITRES_PER_CUBIC_METRE
