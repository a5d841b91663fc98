"""Friction in smooth plastic pipe and losses in fittings, from laminar to turbulent flow.

SI floats: bore and length in m, flow in m³/s, head in m of water. Most driplines on a low stand
are laminar from end to end, so the laminar branch comes first everywhere.
"""

from __future__ import annotations

import math

from service.sizing.water import GRAVITY

ROUGHNESS_M = 0.0015e-3
"""Of plastic pipe [m]: EPANET 2.2 User Manual, roughness table (0.005e-3 ft), read."""
LAMINAR_REYNOLDS = 2000.0
TURBULENT_REYNOLDS = 4000.0


def reynolds_number(flow: float, bore: float, viscosity: float) -> float:
    """Reynolds number of a pipe flowing full [-]; viscosity is the kinematic one [m²/s]."""
    return 4.0 * flow / (math.pi * bore * viscosity)


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor [-]: 64/Re, Dunlop's cubic from Re 2000 to 4000, Swamee-Jain above.

    Parameters
    ----------
    reynolds : float
        Reynolds number [-], above 0.
    relative_roughness : float
        Roughness over bore [-].

    Returns
    -------
    float
        Darcy factor [-]: four times the Fanning factor that some books print.

    References
    ----------
    .. [1] EPANET 2.2 User Manual, chapter "Analysis algorithms", hydraulics, step 3: the three
       laws and their limits, read. The cubic dips to 0.029 near Re 2400.
    """
    if reynolds <= LAMINAR_REYNOLDS:
        return 64.0 / reynolds
    if reynolds >= TURBULENT_REYNOLDS:
        return _swamee_jain(reynolds, relative_roughness)
    x1, x2, x3, x4_slope = _dunlop(relative_roughness)
    r = reynolds / 2000.0
    return x1 + r * (x2 + r * (x3 + r * x4_slope))


def _swamee_jain(reynolds: float, relative_roughness: float) -> float:
    inner = relative_roughness / 3.7 + 5.74 / math.pow(reynolds, 0.9)
    return 0.25 / math.pow(math.log10(inner), 2)


def _dunlop(relative_roughness: float) -> tuple[float, float, float, float]:
    """Return X1, X2, X3 and X4 / R of the cubic: they depend on the roughness alone."""
    y2 = relative_roughness / 3.7 + 5.74 / math.pow(4000.0, 0.9)
    y3 = -0.86859 * math.log(y2)
    fa = 1.0 / (y3 * y3)
    fb = fa * (2.0 - 0.00514215 / (y2 * y3))
    x1 = 7.0 * fa - fb
    x2 = 0.128 - 17.0 * fa + 2.5 * fb
    x3 = -0.128 + 13.0 * fa - 2.0 * fb
    return x1, x2, x3, 0.032 - 3.0 * fa + 0.5 * fb


class PipeLaw:
    """The law of friction of one bore at one viscosity, ready for many flows.

    Attributes
    ----------
    laminar : float
        Loss per metre and per m³/s while flow is laminar [s/m³].
    laminar_flow : float
        The largest laminar flow [m³/s].
    velocity_head : float
        Velocity head over the square of the flow [s²/m⁵].
    """

    __slots__ = (
        "_cubic",
        "_relative",
        "_reynolds",
        "_square",
        "bore",
        "laminar",
        "laminar_flow",
        "velocity_head",
    )

    def __init__(self, bore: float, viscosity: float) -> None:
        self.bore = bore
        self.velocity_head = 8.0 / (math.pi**2 * GRAVITY * bore**4)
        self.laminar = 128.0 * viscosity / (math.pi * GRAVITY * bore**4)
        self.laminar_flow = LAMINAR_REYNOLDS * math.pi * bore * viscosity / 4.0
        self._reynolds = 4.0 / (math.pi * bore * viscosity)
        self._square = self.velocity_head / bore
        self._relative = ROUGHNESS_M / bore
        self._cubic = _dunlop(self._relative)

    def gradient(self, flow: float) -> float:
        """Loss of head per metre of pipe [-] at a flow [m³/s], 0 or more."""
        if flow <= self.laminar_flow:
            return self.laminar * flow
        reynolds = self._reynolds * flow
        if reynolds >= TURBULENT_REYNOLDS:
            factor = _swamee_jain(reynolds, self._relative)
        else:
            x1, x2, x3, x4_slope = self._cubic
            r = reynolds / 2000.0
            factor = x1 + r * (x2 + r * (x3 + r * x4_slope))
        return factor * self._square * flow * flow

    def loss(self, flow: float, length: float, minor_k: float = 0.0) -> float:
        """Head lost [m] in a length [m] and in fittings of `minor_k` velocity heads [-]."""
        return length * self.gradient(flow) + minor_k * self.velocity_head * flow * flow

    def speed(self, flow: float) -> float:
        """Mean speed of the water [m/s]."""
        return 4.0 * flow / (math.pi * self.bore**2)


def christiansen_factor(outlets: int, exponent: float, first_at_half: bool = False) -> float:
    """Loss of a line with equal outlets over that of the same pipe without [-].

    Parameters
    ----------
    outlets : int
        Number of outlets, 1 or more.
    exponent : float
        Of the flow in the law of friction [-]: 1 laminar, 1.75 smooth turbulent, 2 rough.
    first_at_half : bool
        Whether the first outlet stands half a spacing from the inlet (Jensen and Fratini).

    References
    ----------
    .. [1] J. E. Christiansen, Irrigation by Sprinkling, 1942: form from memory, not verified, the
       sum derived again: F = sum(i^m) / N^(m+1).
    """
    if outlets < 1:
        raise ValueError(f"a line has one outlet or more, not {outlets}")
    total = math.fsum(math.pow(i, exponent) for i in range(1, outlets + 1))
    full = total / math.pow(outlets, exponent + 1.0)
    if not first_at_half:
        return full
    return (2.0 * outlets * full - 1.0) / (2.0 * outlets - 1.0)
