"""The tables of fault finding and of the field check, read once from the package's data."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from service.sizing.faults import Cause, read_causes
from service.sizing.field_check import BandLimits, read_bands
from service.sizing.tables import table_text


@cache
def fault_causes() -> Mapping[tuple[str, str], Cause]:
    """Causes by what is seen and what was found."""
    return read_causes(table_text("faults.csv"), "faults.csv")


@cache
def uniformity_bands() -> tuple[BandLimits, ...]:
    """Bands of the low-quarter uniformity, the best first."""
    return read_bands(table_text("uniformity_bands.csv"), "uniformity_bands.csv")
