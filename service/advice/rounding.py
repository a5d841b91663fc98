"""Numbers as a careful neighbour would say them: "about 1,900 litres", "an hour and a half"."""

from __future__ import annotations

import math

from service.phrases import Number


def two_figures(value: float) -> float:
    """Round to two significant figures, since no answer here is surer than that."""
    if value <= 0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return round(value / step) * step


def litres(value: float) -> Number:
    """Litres said as about: two figures, never decimals above one litre."""
    return Number(two_figures(value), 0 if value >= 1 else 1)


def buckets(litres_: float, bucket_l: float) -> Number:
    """Whole buckets that are enough: rounded up, since half a bucket is carried whole."""
    return Number(math.ceil(round(litres_ / bucket_l, 6)))


def minutes(value: float) -> Number:
    """Minutes of open valve: to 5 above twenty, to 1 below."""
    return Number(5 * round(value / 5) if value >= 20 else max(round(value), 1 if value > 0 else 0))


def fills(value: float) -> Number:
    """Tank fills: to a tenth below ten."""
    return Number(value, 1 if value < 10 else 0)


def metres(value: float) -> Number:
    """Lengths on the ground: to the decimetre."""
    return Number(value, 1)


def per_cent(value: float) -> Number:
    """A share, cut down to whole per cent so that a near miss is never said as a pass."""
    return Number(math.floor(value + 1e-9))
