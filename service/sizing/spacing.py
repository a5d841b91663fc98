"""How far apart driplines lie when the card does not say."""

from __future__ import annotations

from service.sizing.card import DEFAULT_LINE_SPACING_M
from service.sizing.crops import Crop

CLOSEST_LINES_M = 0.5
"""Crop rows closer than this share a dripline, two rows to a line [m]: common practice, no
source."""


def usual_line_spacing(crop: Crop | None) -> float:
    """Usual distance between driplines for a crop [m]; 1 m when the crop is not known.

    A line to each crop row, or to each pair of rows where rows stand closer than
    `CLOSEST_LINES_M`: common practice, no source.
    """
    if crop is None:
        return DEFAULT_LINE_SPACING_M
    rows = crop.row_spacing_m
    return rows if rows >= CLOSEST_LINES_M else 2.0 * rows
