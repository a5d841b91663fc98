"""The plot card: one plot as measured, every value checked, every usual value known as such.

Units stand in the names of the fields. A card is data from outside: `read_card` refuses what it
cannot use and names every field, its value and what is allowed.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

from service.errors import CardError
from service.sizing.card_text import (
    Number,
    OneOrTwelve,
    Whole,
    Words,
    iso_date,
    json_object,
    problems_of,
)
from service.sizing.result import Assumed, LinesRun, TankPosition

DEFAULT_LINE_SPACING_M = 1.0
"""Between driplines when neither the card nor the crop says [m]: common practice, no source."""

Fill = Literal["bucket", "hand_pump", "motor_pump", "pipe"]


class Part(BaseModel):
    """Base of the card's parts: nothing unknown, nothing changed after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Plot(Part):
    """The ground; slopes are positive uphill from the tank."""

    length_m: Annotated[float, Number(0.5, 500, "m", 20)]
    width_m: Annotated[float, Number(0.5, 500, "m", 15)]
    slope_length_pct: Annotated[float, Number(-30, 30, "%", 1)] = 0.0
    slope_width_pct: Annotated[float, Number(-30, 30, "%", -0.5)] = 0.0


class Tank(Part):
    """The tank; heights count from its base."""

    volume_l: Annotated[float, Number(5, 100_000, "L", 500)]
    water_depth_m: Annotated[float, Number(0.05, 5, "m", 1)] = 1.0
    """Depth when full; the inside diameter of a drum lying on its side."""
    outlet_height_m: Annotated[float, Number(0, 2, "m", 0.1)] = 0.1
    shape: Annotated[Literal["upright", "lying"], Words("upright or lying", "upright")] = "upright"
    inflow_lph: Annotated[float, Number(0, 50_000, "L/h", 300)] = 0.0
    """Water brought while the tank drains, as a steady rate."""


class SecondBore(Part):
    """A submain that changes to a narrower pipe once."""

    inner_diameter_mm: Annotated[float, Number(5, 150, "mm", 17.4)]
    from_tap: Annotated[int, Whole(1, 1000, 10)]
    """The pipe leaving this tap (the first is 1) and all pipe beyond it have the second bore."""


class Submain(Part):
    """The pipe from the tank along the taps; no bore given means that one is chosen."""

    inner_diameter_mm: Annotated[float | None, Number(5, 150, "mm", 21.8)] = None
    second: SecondBore | None = None


class Dripline(Part):
    """The line with its emitters."""

    inner_diameter_mm: Annotated[float, Number(3, 50, "mm", 13.6)] = 13.6
    emitter_spacing_m: Annotated[float, Number(0.05, 10, "m", 0.3)] = 0.3
    emitter_flow_lph: Annotated[float, Number(0.05, 50, "L/h", 1)] = 1.0
    reference_head_m: Annotated[float, Number(0.1, 60, "m", 10)] = 10.0
    exponent: Annotated[float, Number(0.05, 1.2, "", 0.5)] = 0.5
    cv: Annotated[float, Number(0, 0.5, "", 0.05)] = 0.05
    barb_loss_m: Annotated[float, Number(0, 2, "m", 0.1)] = 0.1
    calibration: Annotated[float, Number(0.05, 10, "", 1)] = 1.0
    """Measured over computed flow at the same head."""


class Supply(Part):
    """How the tank is filled and what that can bring."""

    fill: Annotated[Fill | None, Words("bucket, hand_pump, motor_pump or pipe", "bucket")] = None
    litres_per_day: Annotated[float | None, Number(0, 1_000_000, "L a day", 600)] = None


class Climate(Part):
    """Reference evapotranspiration and rain, the same all year or month by month."""

    eto_mm_day: Annotated[float | tuple[float, ...], OneOrTwelve(0, 20, "mm a day", 5)]
    rain_mm_day: Annotated[float | tuple[float, ...], OneOrTwelve(0, 60, "mm a day", 1)] = 0.0


class CropLines(Part):
    """One of several crops, and the lines that serve it."""

    crop: Annotated[str, Words("a crop of the tables", "tomato")]
    lines: Annotated[int, Whole(1, 1000, 10)]
    planting_date: Annotated[
        datetime.date | None,
        BeforeValidator(iso_date),
        Words("a date written year-month-day", "2026-03-15"),
    ] = None
    """The card's own planting date when absent."""


class LayoutChoice(Part):
    """What is fixed of the layout; the rest is chosen."""

    tank_position: Annotated[TankPosition | None, Words("corner or mid_side", "corner")] = None
    lines_run: Annotated[LinesRun | None, Words("length or width", "length")] = None
    blocks: Annotated[int | None, Whole(1, 4, 2)] = None


class PlotCard(Part):
    """Everything known of one plot."""

    plot: Plot
    tank: Tank
    stand_height_m: Annotated[float, Number(0, 10, "m", 1.5)]
    submain: Submain = Submain()
    line_spacing_m: Annotated[float | None, Number(0.05, 20, "m", 1)] = None
    inlet_k: Annotated[float | None, Number(0, 10_000, "", 2.5)] = None
    tap_k: Annotated[float, Number(0, 1_000, "", 1)] = 1.0
    water_temp_c: Annotated[float, Number(5, 45, "degrees C", 20)] = 20.0
    filter: Annotated[bool, Words("true or false", "true")] = Field(default=True, strict=True)
    """Whether a screen filter stands after the tank."""
    dripline: Dripline = Dripline()
    crop: Annotated[str | None, Words("a crop of the tables", "tomato")] = None
    crops: Annotated[
        tuple[CropLines, ...],
        Words("a list of crops, each with its lines", '[{"crop": "tomato", "lines": 10}]'),
    ] = ()
    """Several crops, by line, instead of `crop`."""
    soil: Annotated[str | None, Words("a soil of the tables", "loam")] = None
    district: Annotated[str | None, Words("a district of the climate table", "Example")] = None
    climate: Climate | None = None
    planting_date: Annotated[
        datetime.date | None,
        BeforeValidator(iso_date),
        Words("a date written year-month-day", "2026-03-15"),
    ] = None
    water_ec_ds_m: Annotated[float | None, Number(0, 100, "dS/m", 0.8)] = None
    supply: Supply | None = None
    layout: LayoutChoice = LayoutChoice()

    @property
    def spacing_m(self) -> float:
        """Between driplines [m]: the card's own, or the usual 1 m."""
        return DEFAULT_LINE_SPACING_M if self.line_spacing_m is None else self.line_spacing_m

    @model_validator(mode="after")
    def _parts_fit(self) -> PlotCard:
        """Check what only two fields together can show."""
        if self.tank.outlet_height_m >= self.tank.water_depth_m:
            raise ValueError(
                "tank.outlet_height_m|allowed: below tank.water_depth_m "
                f"({self.tank.water_depth_m:g} m); example 0.1"
            )
        if self.crop is not None and self.crops:
            raise ValueError(
                "crops|allowed: either crop or crops, not both; example "
                '[{"crop": "tomato", "lines": 10}]'
            )
        if self.tank.shape == "lying" and "water_depth_m" not in self.tank.model_fields_set:
            raise ValueError(
                "tank.water_depth_m|allowed: for a lying drum its inside diameter; example 0.57"
            )
        second, bore = self.submain.second, self.submain.inner_diameter_mm
        if second is not None and (bore is None or second.inner_diameter_mm > bore):
            raise ValueError(
                "submain.second.inner_diameter_mm|allowed: at most submain.inner_diameter_mm, "
                "which must be given too; example 17.4"
            )
        return self


def read_card(raw: Mapping[str, object] | str | bytes) -> PlotCard:
    """Plot card of JSON text or of a mapping as JSON would give it.

    Raises
    ------
    CardError
        With every problem found: unknown, doubled or missing fields, text where a number belongs,
        numbers outside their range.
    """
    values = json_object(raw) if isinstance(raw, str | bytes) else raw
    try:
        return PlotCard.model_validate(values)
    except ValidationError as fault:
        raise CardError(problems_of(fault, PlotCard)) from fault


def assumed_values(card: PlotCard) -> tuple[Assumed, ...]:
    """Each field that was not given and the usual value taken for it.

    Fields that stay unknown when absent, or that are then chosen by computing (a bore, a layout),
    are not among them.
    """
    return (*_defaults(card, ""), *_spacing_assumed(card))


def _spacing_assumed(card: PlotCard) -> Iterator[Assumed]:
    if card.line_spacing_m is None:
        yield Assumed(field="line_spacing_m", value=card.spacing_m)


def _defaults(part: BaseModel, prefix: str) -> Iterator[Assumed]:
    for name in type(part).model_fields:
        value: Any = getattr(part, name)
        if isinstance(value, BaseModel):
            yield from _defaults(value, f"{prefix}{name}.")
        elif name not in part.model_fields_set and value not in (None, ()):
            yield Assumed(field=prefix + name, value=value)
