"""What the water passes between the tank and the submain, as one loss coefficient."""

from __future__ import annotations

import math
from dataclasses import dataclass

from service.sizing.water import GRAVITY
from service.units import SECONDS_PER_HOUR

OUTLET_K = 0.5
"""Square-edged tank outlet: EPANET 2.2 User Manual, table of minor losses, read."""
VALVE_K = 0.1
"""Full-bore ball valve: 0.07 by the Crane form restated in the fluids library (read), rounded."""
ELBOW_K = 0.9
"""Short 90 degree elbow: EPANET 2.2 User Manual, table of minor losses, read."""
ELBOWS = 2


@dataclass(frozen=True, slots=True)
class InletSize:
    """The outlet, valve and filter that go with submains up to a bore.

    Attributes
    ----------
    up_to_bore : float
        Widest submain bore for which it is taken [m].
    name : str
        Nominal size of the thread, as a shop says it.
    bore : float
        Of outlet and valve [m].
    filter_loss : float
        Loss of the clean screen filter over the square of the flow [m per (m³/h)²].
    """

    up_to_bore: float
    name: str
    bore: float
    filter_loss: float


INLET_SIZES = (
    InletSize(0.0239, "3/4 inch", 0.020, 0.3),
    InletSize(math.inf, "1 inch", 0.026, 0.1),
)
"""3/4 inch up to 25 mm pipe, 1 inch above. Bores are trade typical and the filter losses our
estimates: no source. A wider submain keeps the 1 inch filter, and pays for it by (bore ratio)^4."""


def inlet_size(submain_bore: float) -> InletSize:
    """Outlet, valve and filter that go with a submain of this bore [m]."""
    return next(size for size in INLET_SIZES if submain_bore <= size.up_to_bore)


def usual_inlet_k(submain_bore: float, with_filter: bool = True) -> float:
    """Loss of the usual fittings on the velocity head in the submain [-].

    Outlet and valve at their own bore, the filter by its own law, two elbows at the submain's
    bore: each carried over to the submain by (submain bore / own bore)^4.

    Parameters
    ----------
    submain_bore : float
        [m]
    with_filter : bool
        Whether a screen filter stands in the way.
    """
    size = inlet_size(submain_bore)
    fittings = (OUTLET_K + VALVE_K) * (submain_bore / size.bore) ** 4
    screen = 0.0
    if with_filter:
        per_si_flow = size.filter_loss * SECONDS_PER_HOUR**2
        screen = per_si_flow * math.pi**2 * GRAVITY * submain_bore**4 / 8.0
    return fittings + screen + ELBOWS * ELBOW_K
