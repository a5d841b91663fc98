"""Soils that a farmer can feel, mapped to FAO-56 Table 19."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast, get_args

from service.sizing.csv_table import Row, number, parsed, word
from service.sizing.kc import SoilGroup

USUAL_SOIL = "loam"
"""Taken where nobody has felt the soil: the middle class; our choice."""

SOIL_COLUMNS = (
    "key", "name", "feel", "texture", "group", "field_capacity", "wilting_point",
    "rew_mm", "tew_mm", "water_source", "water_status",
    "infiltration_low_mm_h", "infiltration_high_mm_h", "infiltration_source",
    "infiltration_status", "emitter_spacing_max_m", "spacing_source", "spacing_status",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Soil:
    """One class of soil.

    Attributes
    ----------
    feel : str
        What a squeezed handful of wet soil does, in English.
    field_capacity, wilting_point : float
        Water held after draining, and left when plants wilt [m³/m³].
    rew_mm, tew_mm : float
        Readily and totally evaporable water of the top 0.10 m [mm].
    infiltration_low_mm_h, infiltration_high_mm_h : float
        Water the surface takes in [mm/h]; from memory, not verified.
    emitter_spacing_max_m : float
        Widest emitter spacing at 0.5 to 1 L/h that still wets one strip [m]; common practice.
    """

    key: str
    name: str
    feel: str
    texture: str
    group: SoilGroup
    field_capacity: float
    wilting_point: float
    rew_mm: float
    tew_mm: float
    infiltration_low_mm_h: float
    infiltration_high_mm_h: float
    emitter_spacing_max_m: float
    source: str

    @property
    def available_mm_per_m(self) -> float:
        """Water between field capacity and wilting in one metre of soil [mm/m]; eq. 82."""
        return 1000 * (self.field_capacity - self.wilting_point)


def read_soils(text: str, file_name: str) -> dict[str, Soil]:
    """Soils by key, in the order of the table: light to heavy.

    Raises
    ------
    TextFileError
        Each row that cannot be used, with its line.
    """
    return {soil.key: soil for soil in parsed(text, file_name, SOIL_COLUMNS, _soil)}


def _soil(row: Row) -> Soil:
    group = word(row, "group")
    if group not in get_args(SoilGroup):
        raise ValueError(f"group: {group!r} is not one of {', '.join(get_args(SoilGroup))}")
    soil = Soil(
        key=word(row, "key"),
        name=word(row, "name"),
        feel=word(row, "feel"),
        texture=word(row, "texture"),
        group=cast(SoilGroup, group),
        field_capacity=number(row, "field_capacity", 0.02, 0.6),
        wilting_point=number(row, "wilting_point", 0.01, 0.5),
        rew_mm=number(row, "rew_mm", 1, 20),
        tew_mm=number(row, "tew_mm", 2, 40),
        infiltration_low_mm_h=number(row, "infiltration_low_mm_h", 0.1, 500),
        infiltration_high_mm_h=number(row, "infiltration_high_mm_h", 0.1, 500),
        emitter_spacing_max_m=number(row, "emitter_spacing_max_m", 0.05, 2),
        source=f"{word(row, 'water_source')} ({word(row, 'water_status')})",
    )
    if soil.wilting_point >= soil.field_capacity:
        raise ValueError("wilting_point must be below field_capacity")
    return soil
