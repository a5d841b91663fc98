"""Which round scale fits a plot on a piece of paper."""

from __future__ import annotations

from collections.abc import Iterator

MM_PER_M = 1000.0
_STEPS = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
_BAR_M = (0.5, 1, 2, 5, 10, 20, 50, 100)


def _scales() -> Iterator[int]:
    for power in (10, 100, 1000, 10_000):
        yield from (round(power * step) for step in _STEPS)


def scale_for(width_m: float, height_m: float, width_mm: float, height_mm: float) -> int:
    """The n of the largest round scale 1:n at which ground fits on paper.

    Raises
    ------
    ValueError
        It fits at no scale, since the paper has no room.
    """
    for scale in _scales():
        wide, high = width_m * MM_PER_M / scale, height_m * MM_PER_M / scale
        if wide <= width_mm and high <= height_mm:
            return scale
    raise ValueError(f"no scale fits {width_m:g} m x {height_m:g} m on this paper")


def bar_length(scale: int, at_most_mm: float) -> float:
    """Round length [m] of the longest scale bar that stays within a length on paper [mm]."""
    fitting = [length for length in _BAR_M if length * MM_PER_M / scale <= at_most_mm]
    return float(max(fitting, default=_BAR_M[0]))


def label_every(pitch_mm: float, room_mm: float) -> int:
    """Of marks that stand `pitch_mm` apart, label each n-th so that labels have `room_mm`."""
    return next((step for step in (1, 2, 5, 10, 20, 50) if step * pitch_mm >= room_mm), 100)
