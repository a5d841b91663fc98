"""From answers to the crop water of one plot: shared by water, enough and feed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from service.advice import crops_told
from service.advice.answers import NOT_ON_THE_LIST, Answers
from service.advice.context import Context
from service.errors import CardError, NotConverged
from service.phrases import Phrase, say
from service.sizing.card import PlotCard
from service.sizing.cases import case_of, plantings
from service.sizing.climate import Climate, unknown_climate
from service.sizing.result import Layout, Plan
from service.sizing.soils import USUAL_SOIL
from service.sizing.uniformity import goal_emission_uniformity
from service.sizing.watering import Case

CROP_ANSWERS = ("crop", "weeks_since_planting")
"""What a plot's water depends on beside what lies on it."""


def has_plot(answers: Answers, context: Context) -> bool:
    """Whether the answers make a plot with its crop, planned or laid."""
    if any(answers.get(name) in (None, "") for name in CROP_ANSWERS):
        return False
    try:
        context.plan(answers)
    except (CardError, NotConverged):
        return False
    return True


def has_crop(answers: Answers, context: Context) -> bool:
    """Whether a crop of the tables was named."""
    return answers.get("crop") in context.tables.crops


def has_tank(answers: Answers, context: Context) -> bool:
    """Whether the size of the tank is known."""
    return bool(answers.get("tank_volume_l"))


@dataclass(frozen=True)
class PlotWater:
    """A plot as planned, with its case and the minutes for any litres."""

    card: PlotCard
    plan: Plan
    case: Case
    minutes_for_litres: Callable[[float], float | None]
    """Minutes with all lines running until this crop's own lines have had so many litres."""
    lines: int | None = None
    """The lines of this crop, where the plot carries several."""

    @property
    def layout(self) -> Layout:
        """The recommended layout."""
        return self.plan.layouts[self.plan.recommended]

    @property
    def strip_rate_mm_h(self) -> float:
        """What the drippers give to the strip that they wet [mm/h], tank full."""
        strip_m = self.case.wetted_fraction * self.layout.line_spacing_m
        ground_m2 = strip_m * self.card.dripline.emitter_spacing_m
        return self.layout.full_tank.mean_flow_lph / ground_m2


def plot_water(answers: Answers, context: Context) -> PlotWater:
    """Return the plot of the answers with its main crop; CardError when they make none."""
    return crop_waters(answers, context)[0]


def crop_waters(answers: Answers, context: Context) -> tuple[PlotWater, ...]:
    """Return the plot once for each crop on its lines, the main one first; CardError likewise."""
    card = context.card(answers)
    found = context.planner.planned(card, context.today)
    layout = found.plan.layouts[found.plan.recommended]
    uniformity = layout.full_tank.emission_uniformity_pct / 100.0
    return tuple(
        PlotWater(
            card,
            found.plan,
            case_of(card, context.tables, planting, uniformity),
            _minutes_of(found.minutes_for_litres, planting.share),
            planting.lines,
        )
        for planting in plantings(card, context.tables, context.today)
    )


def _minutes_of(
    minutes_for_litres: Callable[[float], float | None], share: float
) -> Callable[[float], float | None]:
    """Each line gets its share while all run, so a part of them takes as long as the whole."""
    return lambda litres: minutes_for_litres(litres / share)


def crop_case(
    answers: Answers, context: Context, area_m2: float = 1.0, crop: str | None = None
) -> Case:
    """Return the case of a crop where no plot is known: usual evenness, usual soil if not felt.

    Raises
    ------
    CardError
        No crop, or a crop, soil or district that the tables do not have.
    """
    tables = context.tables
    return Case(
        crop=tables.crop(crop or str(answers.get("crop", ""))),
        soil=tables.soil(str(answers.get("soil") or USUAL_SOIL)),
        climate=place_climate(answers, context),
        area_m2=area_m2,
        emission_uniformity=goal_emission_uniformity(0.0, 0.0) / 100.0,
        planted=planted_on(answers, context),
    )


def planted_on(answers: Answers, context: Context) -> date:
    """Return the day of planting that the answers mean; today when they do not say."""
    return crops_told.planted_on(answers, context.today) or context.today


def place_climate(answers: Answers, context: Context) -> Climate:
    """Return the climate of the district, or of a hot dry place when it is not known."""
    district = answers.get("district")
    if not district or district == NOT_ON_THE_LIST:
        return unknown_climate()
    return context.tables.district(str(district)).climate


def no_crop() -> tuple[Phrase, ...]:
    """What to say when answers that must be there are not, such as after a table has changed."""
    return (say("I do not know your plot or crop. Go to the main menu and plan the plot first."),)
