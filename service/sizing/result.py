"""What a plan says: plain models, SI or the unit in the name, ready to be written as JSON.

The keys are a contract with tools (`schema` 1): a key may be added, none may change its meaning.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

TankPosition = Literal["corner", "mid_side"]
LinesRun = Literal["length", "width"]


class Result(BaseModel):
    """Base of all results: nothing unknown, nothing changed after it was computed."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class FullTank(Result):
    """Emitter flows of one block with the tank full."""

    total_flow_lph: float
    min_flow_lph: float
    mean_flow_lph: float
    max_flow_lph: float
    emission_uniformity_pct: float
    flow_variation_pct: float
    dry_emitters: int = 0
    """Emitters at or above the water line: they give nothing."""


class Block(Result):
    """The lines behind one valve."""

    first_tap: int
    last_tap: int
    line_count: int
    full_tank: FullTank
    empty_minutes: float | None
    """Minutes from full to the outlet with only this block open; None when flow stops earlier."""
    delivered_litres: float


class Layout(Result):
    """One way to lay the plot, with its hydraulics."""

    tank_position: TankPosition
    lines_run: LinesRun
    blocks: int
    line_count: int
    line_length_m: float
    line_spacing_m: float
    emitters_per_line: int
    tap_positions_m: tuple[float, ...]
    """Distance of each tap from the tank along the submain [m]."""
    submain_length_m: float
    submain_inner_diameter_mm: float
    inlet_k: float
    """Loss of the fittings at the tank on the submain's velocity head [-]."""
    full_tank: FullTank
    """Of the block with the lowest emission uniformity."""
    empty_minutes: float | None
    delivered_litres: float
    block: tuple[Block, ...]
    meets_goal: bool
    """Emission uniformity at or above the goal and flow variation not above 20 %."""
    goal_emission_uniformity_pct: float
    parts_cost: float | None = None
    emitter_flow_lph: tuple[tuple[float, ...], ...] | None = None
    """Line by line in tap order (at each tap side one, then side two), emitters from the tap on."""


class Remedy(Result):
    """One change that was computed: what it is and what it does to the worst block."""

    change: Literal["wider_submain", "shorter_lines", "more_blocks", "higher_stand"]
    value: float
    """Bore [mm], line length [m], number of blocks, or stand height [m]."""
    emission_uniformity_pct: float
    flow_variation_pct: float
    min_flow_lph: float
    meets_goal: bool
    extra_cost: float | None = None
    how: Literal["", "fed_from_middle", "cut"] = ""
    """Of shorter lines: fed from their middle (all ground watered), or cut (some left dry)."""


class Range(Result):
    """From the worst to the best case of what was assumed."""

    low: float | None
    high: float | None


class LayoutSpan(Result):
    """What the recommended layout does in the bad cases of what was assumed."""

    emission_uniformity_pct: Range
    min_flow_lph: Range
    empty_minutes: Range
    """None where flow stops before the outlet is reached."""
    assumed: tuple[str, ...] = ()
    """Fields of the card that were varied; none when all were measured."""
    verdict_hangs_on: tuple[str, ...] = ()
    """Those of them that alone turn the verdict."""


class Coil(Result):
    """Coils of one length to buy."""

    length_m: float
    count: int
    lines_each: int = 0
    """Whole lines cut from one such coil; 0 for pipe that may be joined anywhere."""


class PartLine(Result):
    """One row of the parts list."""

    item: str
    """Key of the part in the parts table."""
    name: str
    """English name as a shop says it."""
    quantity: float
    unit: str
    unit_price: float | None = None
    cost: float | None = None
    note: str = ""
    """English; the same facts stand in the fields below."""
    spare: int = 0
    """How many of the quantity are spare."""
    needed_m: float | None = None
    """Metres laid and cut off, of the metres bought; None for what is not sold by the metre."""
    coils: tuple[Coil, ...] = ()
    """The coils that make up the quantity, longest first."""


class WateringMonth(Result):
    """What the crop needs in one month."""

    month: int
    """1 to 12."""
    year: int
    stage: str
    """initial, development, mid, late, or none when nothing grows."""
    eto_mm_day: float
    kc: float
    rain_mm_day: float
    """Effective rain."""
    net_mm_day: float
    gross_l_day: float
    fills_per_day: float
    minutes_per_day: float | None


class CropWater(Result):
    """Water of one of several crops on a plot."""

    crop: str
    lines: int
    area_m2: float
    """Its share of the plot: as its share of the lines."""
    planting_date: str
    peak_month: int
    now: WateringMonth
    watering: tuple[WateringMonth, ...]
    """Litres and fills of its own lines; minutes until they have their share while all lines run,
    after which their taps are shut."""


class SupplyCheck(Result):
    """Water that the plot needs against the water that can be brought."""

    needed_l_day: float
    """Now (or at planting when the crop is not in the ground)."""
    peak_l_day: float
    given_l_day: float | None
    enough: bool | None
    keeps_area_m2: float | None = None
    """Land that the given water keeps through the peak."""
    buckets_needed_day: float
    buckets_peak_day: float


class PlanWarning(BaseModel):
    """A warning by code, with its evidence as further keys."""

    model_config = ConfigDict(extra="allow", frozen=True)
    code: str


class Assumed(Result):
    """A field of the card that was not given, and the value taken as usual."""

    field: str
    value: Any


class Plan(Result):
    """Everything that one card means."""

    schema_: int = Field(default=1, alias="schema", serialization_alias="schema")
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
    layouts: tuple[Layout, ...]
    recommended: int
    why: str = ""
    one_valve: FullTank | None = None
    """The recommended layout with a single valve, where only several blocks meet the goal."""
    remedies: tuple[Remedy, ...] = ()
    """What helps the recommended layout, or the same one with a single valve."""
    span: LayoutSpan | None = None
    """Of the recommended layout."""
    parts: tuple[PartLine, ...] = ()
    watering: tuple[WateringMonth, ...] = ()
    """Of the whole plot; with several crops their litres are added up and the minutes are those of
    the thirstiest."""
    crops: tuple[CropWater, ...] = ()
    """Of each crop, where the card names several."""
    now: WateringMonth | None = None
    """Today, or the planting day that is still to come."""
    peak_month: int | None = None
    now_month: int | None = None
    supply: SupplyCheck | None = None
    warnings: tuple[PlanWarning, ...] = ()
    assumed: tuple[Assumed, ...] = ()
