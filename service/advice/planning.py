"""The one way to compute a plan: phone, console, reminders and command line all come here."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from service.advice.water_rows import WaterRows
from service.advice.why import why_sentence
from service.sizing.card import PlotCard, assumed_values
from service.sizing.cases import Planting, added_up, case_of, plantings, plot_climate
from service.sizing.crops import Crop
from service.sizing.layouts import SizedLayouts, size_layouts
from service.sizing.parts import laying_of, layout_cost, parts_list
from service.sizing.plain import plain_english
from service.sizing.result import Assumed, Layout, Plan, PlanWarning
from service.sizing.soils import USUAL_SOIL
from service.sizing.spacing import usual_line_spacing
from service.sizing.tables import Tables
from service.sizing.uniformity import goal_emission_uniformity
from service.sizing.watering import MinutesForLitres, WaterNeed, supply_check, water_need

SUPPLY_SHORT = "plot_too_big_for_supply"


def plan(
    card: PlotCard, tables: Tables, *, today: date | None = None, with_emitters: bool = False
) -> Plan:
    """Return everything that a card means.

    Parameters
    ----------
    card : PlotCard
        The plot.
    tables : Tables
        Crops, soils, pipes; districts and prices where a deployment has them.
    today : date, optional
        The day asked on. Without it, the first planting date of the card, or else 1 January of
        the year 2000, stands for it, so that the same card always gives the same plan.
    with_emitters : bool
        Whether each layout lists the flow of every emitter.

    Raises
    ------
    CardError
        An unknown crop, soil or district, or a plot too small for one line.
    NotConverged
        A network that cannot be solved; the layout is named.
    """
    return planned(card, tables, today=today, with_emitters=with_emitters).plan


@dataclass(frozen=True)
class Planned:
    """A plan, and the minutes of open valve that give any litres on its recommended layout."""

    plan: Plan
    minutes_for_litres: MinutesForLitres


def planned(
    card: PlotCard, tables: Tables, *, today: date | None = None, with_emitters: bool = False
) -> Planned:
    """Plan a card as `plan` does, and keep the way to reckon minutes of other days."""
    day = today or _first_planting(card) or date(2000, 1, 1)
    crops = plantings(card, tables, day)
    laid = _with_usual_spacing(card, _widest_part(crops))
    water = _Water(laid, tables, crops, day) if crops else None
    peak = None if water is None else added_up(water.needs(_goal(laid))).peak.gross_l_day
    sized = size_layouts(laid, tables.pipes, peak, with_emitters, _cost(laid, tables))
    return Planned(_assemble(card, laid, tables, sized, water), sized.minutes_for_litres)


def _first_planting(card: PlotCard) -> date | None:
    days = [card.planting_date, *(entry.planting_date for entry in card.crops)]
    return min((day for day in days if day is not None), default=None)


def _assemble(
    card: PlotCard, laid: PlotCard, tables: Tables, sized: SizedLayouts, water: _Water | None
) -> Plan:
    best = sized.layouts[sized.recommended]
    given = card.supply.litres_per_day if card.supply else None
    rows = None
    if water is not None:
        uniformity = best.full_tank.emission_uniformity_pct / 100.0
        rows = WaterRows(water.crops, water.needs(uniformity), best, sized.minutes_for_litres)
    need = None if rows is None else rows.whole
    return Plan(
        layouts=sized.layouts,
        recommended=sized.recommended,
        why=plain_english(why_sentence(sized)),
        one_valve=sized.one_valve,
        remedies=sized.remedies,
        span=sized.span,
        parts=parts_list(laid, best, tables.pipes, tables.prices),
        watering=() if rows is None else rows.months(),
        crops=() if rows is None else rows.crops(),
        peak_month=None if need is None else need.peak.month,
        now_month=None if need is None else need.now.month,
        now=None if rows is None else rows.now(),
        supply=None if need is None else supply_check(need, given),
        warnings=(
            # Judged again below, with the evenness of the layout that was chosen.
            *(one for one in sized.warnings if one.code != SUPPLY_SHORT),
            *_water_warnings(need, given),
            *(() if rows is None else rows.warnings()),
        ),
        assumed=_assumed(card, laid, water),
    )


def _water_warnings(need: WaterNeed | None, given_l_day: float | None) -> tuple[PlanWarning, ...]:
    if need is None:
        return (PlanWarning(code="crop_unknown"),)
    peak = need.peak.gross_l_day
    if given_l_day is not None and given_l_day < peak:
        short = PlanWarning(code=SUPPLY_SHORT, given_l_day=given_l_day, peak_l_day=peak)
        return (*need.warnings, short)
    return need.warnings


def _goal(card: PlotCard) -> float:
    # The need decides which layout is fast enough, and the layout's evenness the need: the goal
    # stands in for the evenness until the layout is known.
    return goal_emission_uniformity(card.plot.slope_length_pct, card.plot.slope_width_pct) / 100.0


def _with_usual_spacing(card: PlotCard, crop: Crop | None) -> PlotCard:
    """Return the card with lines as far apart as the crop wants, where it does not say.

    On a plot narrower than the crop's rows one line down the middle is laid.
    """
    if card.line_spacing_m is not None:
        return card
    spacing = min(usual_line_spacing(crop), card.plot.length_m, card.plot.width_m)
    return card.model_copy(update={"line_spacing_m": spacing})


def _cost(card: PlotCard, tables: Tables) -> Callable[[Layout], float] | None:
    prices = tables.prices
    if prices is None:
        return None

    def cost(layout: Layout) -> float:
        found = layout_cost(laying_of(card, layout, tables.pipes), prices)
        return float("inf") if found is None else found

    return cost


def _widest_part(crops: Sequence[Planting]) -> Crop | None:
    """Return the crop with most lines: its rows decide how far apart they lie."""
    return max(crops, key=lambda planting: planting.share).crop if crops else None


@dataclass(frozen=True)
class _Water:
    """Crop water of one card; only the evenness of the layout is still to come."""

    card: PlotCard
    tables: Tables
    crops: tuple[Planting, ...]
    day: date

    def needs(self, emission_uniformity: float) -> tuple[WaterNeed, ...]:
        """Return the season's need of each crop for an evenness [-]."""
        return tuple(
            water_need(case_of(self.card, self.tables, crop, emission_uniformity), self.day)
            for crop in self.crops
        )


def _assumed(card: PlotCard, laid: PlotCard, water: _Water | None) -> tuple[Assumed, ...]:
    """Return the card's own usual values, and those that only crop and climate bring."""
    found = [
        Assumed(field=item.field, value=laid.line_spacing_m)
        if item.field == "line_spacing_m"
        else item
        for item in assumed_values(card)
    ]
    if water is not None:
        found += _planting_assumed(water.crops)
        if card.soil is None:
            found.append(Assumed(field="soil", value=USUAL_SOIL))
        if card.climate is None and card.district is None:
            eto = plot_climate(card, water.tables).eto_mm_day[0]
            found.append(Assumed(field="climate.eto_mm_day", value=eto))
    return tuple(found)


def _planting_assumed(crops: Sequence[Planting]) -> Iterator[Assumed]:
    for place, crop in enumerate(crops):
        if crop.assumed:
            field = "planting_date" if crop.lines is None else f"crops.{place}.planting_date"
            yield Assumed(field=field, value=crop.planted.isoformat())
