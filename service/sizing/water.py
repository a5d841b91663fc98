"""Water itself: viscosity by temperature, and gravity."""

from __future__ import annotations

import math

from service.errors import OutOfRange

GRAVITY = 32.2 * 0.3048
"""Acceleration of gravity [m/s²] as EPANET takes it (32.2 ft/s², from memory; results agree), so
that ours can be held against them. It is 0.08 % above the standard 9.80665; from place to place
gravity differs by more."""

LOWEST_C, HIGHEST_C = 5.0, 45.0


def density(temperature_c: float) -> float:
    """Density of clean water [kg/m³], within 0.03 % of the steam tables from 5 to 45 °C.

    Parameters
    ----------
    temperature_c : float
        Water temperature [°C], 5 to 45.

    Raises
    ------
    OutOfRange
        Outside 5 to 45 °C.

    References
    ----------
    .. [1] A parabola about the densest point (4 °C), fitted by us to values of the
       IAPWS-97 formulation evaluated with the open-source library iapws 1.5.5.
    """
    _check(temperature_c)
    away = temperature_c - 4.0
    return 1000.0 - 0.00735 * away**2 + 3.6e-5 * away**3


def dynamic_viscosity(temperature_c: float) -> float:
    """Dynamic viscosity of clean water [Pa s].

    Within 0.5 % of the IAPWS release from 10 to 45 °C, 1.1 % at 5 °C.

    Parameters
    ----------
    temperature_c : float
        Water temperature [°C], 5 to 45.

    Raises
    ------
    OutOfRange
        Outside 5 to 45 °C.

    References
    ----------
    .. [1] Vogel's form, mu = 2.414e-5 * 10^(247.8 / (T - 140)) with T in kelvin: from memory,
       not verified; its error computed against iapws 1.5.5.
    """
    _check(temperature_c)
    return 2.414e-5 * math.pow(10.0, 247.8 / (temperature_c + 273.15 - 140.0))


def kinematic_viscosity(temperature_c: float) -> float:
    """Kinematic viscosity of clean water [m²/s]; range, errors and source as the dynamic one."""
    return dynamic_viscosity(temperature_c) / density(temperature_c)


def _check(temperature_c: float) -> None:
    if not LOWEST_C <= temperature_c <= HIGHEST_C:
        raise OutOfRange("water temperature [°C]", temperature_c, LOWEST_C, HIGHEST_C)
