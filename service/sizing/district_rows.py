"""Rows of one district, as read from a climate table."""

from __future__ import annotations

from dataclasses import dataclass

from service.sizing.month_eto import MonthRecord, Place


@dataclass(frozen=True, slots=True)
class DistrictRows:
    """One place and its twelve records, January first."""

    key: str
    name: str
    country: str
    place: Place
    records: tuple[MonthRecord, ...]
