"""Crops that smallholders put on drip: growth, water, roots and salt, with a source a group.

Values come from `data/crops.csv` and `data/crop_stages.csv`. Each group of values carries its
source and a status: "read" in the printed source, "proxy" (the row of a like crop), "from memory,
not verified", "common practice, no source".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, cast, get_args

from service.sizing.csv_table import Row, number, optional_number, parsed, word
from service.sizing.kc import StageDays

Cycle = Literal["season", "evergreen", "dormant", "grows_in"]
GROUPS_OF_VALUES = ("kc", "height", "stage", "root", "depletion", "salt", "ky", "spacing")

CROP_COLUMNS = (
    "key", "name", "group", "cycle",
    "kc_ini", "kc_mid", "kc_end", "kc_note", "kc_source", "kc_status",
    "height_m", "height_source", "height_status",
    "initial_days", "development_days", "mid_days", "late_days",
    "stage_note", "stage_source", "stage_status",
    "root_min_m", "root_max_m", "root_source", "root_status",
    "depletion_fraction", "depletion_source", "depletion_status",
    "ece_threshold_lo_ds_m", "ece_threshold_hi_ds_m", "salt_slope_lo_pct", "salt_slope_hi_pct",
    "salt_rating", "salt_source", "salt_status",
    "ky_lo", "ky_hi", "ky_source", "ky_status",
    "row_spacing_m", "plant_spacing_m", "spacing_source", "spacing_status", "note",
)  # fmt: skip
STAGE_COLUMNS = (
    "crop", "row_label", "initial_days", "development_days", "mid_days", "late_days",
    "total_printed_days", "planting_months", "region", "note", "source", "status",
)  # fmt: skip

RATED_NIL_YIELD_DS_M = {"S": 8.0, "MS": 16.0, "MT": 24.0, "T": 32.0}
"""Soil salinity at which nothing is left to harvest, by rating, where the table prints no
figures [dS/m]: after the Maas classes, from memory, not verified."""


@dataclass(frozen=True, slots=True)
class Source:
    """Where a group of values is from, how sure that is, and what to know about it."""

    text: str
    status: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class SaltTolerance:
    """Table 23 of FAO-56, the cautious end of each printed range.

    `threshold_ds_m` is the soil salinity ECe at which yield begins to fall, `slope_pct` the per
    cent lost for each dS/m beyond; both None where only a rating is printed.
    """

    threshold_ds_m: float | None
    slope_pct: float | None
    rating: str

    @property
    def nil_yield_ds_m(self) -> float:
        """Soil salinity at which nothing is left to harvest [dS/m]; from FAO-56 eq. 89."""
        if self.threshold_ds_m is None or self.slope_pct is None:
            return RATED_NIL_YIELD_DS_M.get(self.rating, RATED_NIL_YIELD_DS_M["S"])
        return self.threshold_ds_m + 100 / self.slope_pct


@dataclass(frozen=True, slots=True)
class StageRow:
    """One printed row of stage lengths: the season of some place and planting month."""

    days: StageDays
    planting_months: str
    region: str


@dataclass(frozen=True, slots=True)
class Crop:
    """One crop. Lengths [days], depths and spacings [m], coefficients [-].

    `cycle`: a `season` that ends; `evergreen`, the same all year; `dormant`, a season every year
    and rest between; `grows_in`, young once and then as in mid-season for good.
    """

    key: str
    name: str
    group: str
    cycle: Cycle
    kc_ini: float
    kc_mid: float
    kc_end: float
    height_m: float
    stages: StageDays | None
    root_min_m: float
    root_max_m: float
    depletion_fraction: float
    salt: SaltTolerance
    ky: float | None
    row_spacing_m: float
    plant_spacing_m: float
    sources: Mapping[str, Source]
    seasons: tuple[StageRow, ...] = ()

    @property
    def perennial(self) -> bool:
        """Whether it stays for years, so that its watering has no end date."""
        return self.cycle != "season"

    @property
    def steady_kc(self) -> float:
        """Coefficient of an evergreen crop [-]: the highest of its three, to be cautious."""
        return max(self.kc_ini, self.kc_mid, self.kc_end)


def read_crops(text: str, stages_text: str, file_name: str, stages_file: str) -> dict[str, Crop]:
    """Crops by key from the two tables.

    Raises
    ------
    TextFileError
        Each row that cannot be used, with its line.
    """
    seasons: dict[str, list[StageRow]] = {}
    for key, row in parsed(stages_text, stages_file, STAGE_COLUMNS, _stage_row):
        seasons.setdefault(key, []).append(row)
    crops: dict[str, Crop] = {}

    def parse(row: Row) -> None:
        crop = _crop(row, tuple(seasons.get(row["key"], ())))
        if crop.key in crops:
            raise ValueError(f"key {crop.key!r} stands twice")
        crops[crop.key] = crop

    parsed(text, file_name, CROP_COLUMNS, parse)
    return crops


def _stage_row(row: Row) -> tuple[str, StageRow]:
    # A cell such as "30/45" prints two values for one stage: their middle is taken.
    columns = ("initial_days", "development_days", "mid_days", "late_days")
    days = [[float(part) for part in word(row, column).split("/")] for column in columns]
    middles = (sum(values) / len(values) for values in days)
    return word(row, "crop"), StageRow(StageDays(*middles), row["planting_months"], row["region"])


def _crop(row: Row, seasons: tuple[StageRow, ...]) -> Crop:
    cycle = word(row, "cycle")
    if cycle not in get_args(Cycle):
        raise ValueError(f"cycle: {cycle!r} is not one of {', '.join(get_args(Cycle))}")
    stages = _stages(row)
    if stages is None and cycle != "evergreen":
        raise ValueError("stage lengths are missing; only an evergreen crop may do without")
    return Crop(
        key=word(row, "key"),
        name=word(row, "name"),
        group=word(row, "group"),
        cycle=cast(Cycle, cycle),
        kc_ini=number(row, "kc_ini", 0, 1.5),
        kc_mid=number(row, "kc_mid", 0, 1.5),
        kc_end=number(row, "kc_end", 0, 1.5),
        height_m=number(row, "height_m", 0.05, 20),
        # An evergreen crop is grown in for good: printed lengths of its year would mislead.
        stages=None if cycle == "evergreen" else stages,
        root_min_m=number(row, "root_min_m", 0.05, 5),
        root_max_m=number(row, "root_max_m", 0.05, 5),
        depletion_fraction=number(row, "depletion_fraction", 0.05, 0.95),
        salt=SaltTolerance(
            optional_number(row, "ece_threshold_lo_ds_m", 0.1, 50),
            optional_number(row, "salt_slope_hi_pct", 0.1, 100),
            row["salt_rating"],
        ),
        ky=optional_number(row, "ky_hi", 0.1, 3),
        row_spacing_m=number(row, "row_spacing_m", 0.1, 20),
        plant_spacing_m=number(row, "plant_spacing_m", 0.01, 20),
        sources=_sources(row),
        seasons=seasons,
    )


def _stages(row: Row) -> StageDays | None:
    columns = ("initial_days", "development_days", "mid_days", "late_days")
    days = [optional_number(row, column, 1, 1000) for column in columns]
    known = [value for value in days if value is not None]
    if not known:
        return None
    if len(known) < 4:
        raise ValueError("give all four stage lengths or none")
    return StageDays(*known)


def _sources(row: Row) -> dict[str, Source]:
    notes = {"kc": row["kc_note"], "stage": row["stage_note"]}
    found = {}
    for group in GROUPS_OF_VALUES:
        status = word(row, f"{group}_status")
        if not row[f"{group}_source"] and status in ("read", "proxy"):
            raise ValueError(f"{group}_source is empty, yet its status is {status!r}")
        found[group] = Source(row[f"{group}_source"], status, notes.get(group, row["note"]))
    return found
