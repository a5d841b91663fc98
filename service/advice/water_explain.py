"""The whole chain of one day's number, in English, for whoever checks it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from service.advice.planning import Planned
from service.sizing.card import PlotCard
from service.sizing.cases import Planting, case_of, plantings
from service.sizing.climate import District
from service.sizing.explain import (
    Step,
    explain_day,
    explain_uniformity,
    explain_valve,
    steps_as_text,
)
from service.sizing.tables import Tables
from service.sizing.watering import LEAST_UNIFORMITY, Case


@dataclass(frozen=True)
class Chain:
    """The steps that lead to one crop's water on one day, and what they are about."""

    title: str
    steps: tuple[Step, ...]

    @property
    def text(self) -> str:
        """The chain as lines of text."""
        return f"{self.title}\n{steps_as_text(self.steps)}"


def chains(
    card: PlotCard, planned: Planned, tables: Tables, day: date, today: date
) -> tuple[Chain, ...]:
    """Return the chain of each crop of a card for a day; `today` is the day asked on.

    A card without a crop has none.
    """
    found = plantings(card, tables, today)
    return tuple(_chain(card, planned, tables, planting, day) for planting in found)


def _chain(
    card: PlotCard, planned: Planned, tables: Tables, planting: Planting, day: date
) -> Chain:
    layout = planned.plan.layouts[planned.plan.recommended]
    full = layout.full_tank
    uniformity = full.emission_uniformity_pct / 100.0
    case = case_of(card, tables, planting, uniformity)
    steps = list(explain_day(case, day, _district(card, tables)))
    if steps[-1].result.name == "gross":
        evenness = explain_uniformity(
            full.min_flow_lph, full.mean_flow_lph, card.dripline.cv, uniformity
        )
        steps.insert(len(steps) - 1, evenness)
        gross = steps[-1].result.value
        minutes = planned.minutes_for_litres(gross / planting.share) if gross > 0 else 0.0
        steps += explain_valve(gross, layout.delivered_litres, minutes)
    return Chain(_title(case, planting, day), tuple(steps))


def _district(card: PlotCard, tables: Tables) -> District | None:
    if card.climate is not None or card.district is None:
        return None
    return tables.district(card.district)


def _title(case: Case, planting: Planting, day: date) -> str:
    lines = "" if planting.lines is None else f" ({planting.lines} lines)"
    assumed = ", taken as planted that day" if planting.assumed else ""
    few = " Uniformity below one half counts as one half." * (
        case.emission_uniformity < LEAST_UNIFORMITY
    )
    return (
        f"Water on {day}: {case.crop.name.lower()}{lines} on {case.area_m2:.0f} m2 of "
        f"{case.soil.name.lower()}, planted {planting.planted}{assumed}.{few}"
    )
