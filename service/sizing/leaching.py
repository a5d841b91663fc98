"""Salt in the water: what must be added to wash it below the roots, and what it costs in yield."""

from __future__ import annotations

from service.sizing.crops import SaltTolerance

SMALL_LEACHING = 0.1
"""Leaching share up to which the unevenness of watering already washes the salt down [-]: after
Keller and Bliesner 1990, from memory, not verified."""
USUAL_LEACHING_FRACTION = 0.15
"""Share of the water that passes the roots under usual watering [-]; FAO-56 p. 182 (read)."""
HIGHEST_LEACHING = 0.5
"""Share beyond which no watering plan is made [-]: our choice; such water ruins the plot."""


def leaching_requirement(water_ec_ds_m: float, salt: SaltTolerance) -> float:
    """Share of the water that must pass the roots under drip [-], at most 0.5.

    ECw / (2 maxECe), maxECe being the soil salinity at which nothing is left to harvest (Keller
    and Bliesner 1990, from memory, not verified).
    """
    return min(HIGHEST_LEACHING, water_ec_ds_m / (2 * salt.nil_yield_ds_m))


def soil_salinity(
    water_ec_ds_m: float, leaching_fraction: float = USUAL_LEACHING_FRACTION
) -> float:
    """Salinity ECe that the soil comes to under a water [dS/m]; FAO-56 eq. 93 (read)."""
    return (1 + leaching_fraction) / leaching_fraction * water_ec_ds_m / 5


def salt_yield_share(soil_ds_m: float, salt: SaltTolerance) -> float | None:
    """Share of the harvest left at a soil salinity [-]; FAO-56 eq. 89 (read).

    None where the table prints a rating and no figures.
    """
    if salt.threshold_ds_m is None or salt.slope_pct is None:
        return None
    lost = max(0.0, soil_ds_m - salt.threshold_ds_m) * salt.slope_pct / 100
    return max(0.0, 1 - lost)
