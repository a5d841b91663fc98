"""What "about" means: the recommended layout in the bad cases of what was assumed.

A bore that was not measured may be the narrowest sold under that size; below 2 m of head the
printed flow of an emitter can be 20 % off until the plot is calibrated.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.sizing.card import PlotCard
from service.sizing.geometry import Lines, network_of
from service.sizing.pipes import PipeSize
from service.sizing.result import LayoutSpan, PlanWarning, Range
from service.sizing.sized import Candidate, candidate
from service.units import millimetres

UNSURE_BELOW_M = 2.0
"""A labyrinth leaves its rated curve below 1 to 2 m of head (field tests, read in an abstract)."""
UNSURE_BY = 0.2

BORE, FLOW, SUBMAIN = (
    "dripline.inner_diameter_mm",
    "dripline.emitter_flow_lph",
    "submain.inner_diameter_mm",
)


@dataclass(frozen=True, slots=True)
class Doubt:
    """A value that was assumed: its field, and factors on it that may well be true."""

    field: str
    factors: tuple[float, ...]


def doubts(one: Candidate, pipes: Sequence[PipeSize]) -> tuple[Doubt, ...]:
    """What a candidate takes for granted, each with its bad cases."""
    return tuple(_doubts(one, pipes))


def _doubts(one: Candidate, pipes: Sequence[PipeSize]) -> Iterator[Doubt]:
    dripline = one.card.dripline
    if "inner_diameter_mm" not in dripline.model_fields_set:
        yield from _narrow(BORE, dripline.inner_diameter_mm, "dripline", pipes)
    if one.card.submain.inner_diameter_mm is None:
        yield from _narrow(SUBMAIN, millimetres(one.network.bore), "submain", pipes)
    block = one.blocks[one.worst]
    if "calibration" not in dripline.model_fields_set:
        head = block.at(one.surface)[0]
        if head < UNSURE_BELOW_M:
            yield Doubt(FLOW, (1.0 - UNSURE_BY, 1.0 + UNSURE_BY))


def _narrow(field: str, bore_mm: float, use: str, pipes: Sequence[PipeSize]) -> Iterator[Doubt]:
    """Yield the narrowest bore sold under the size, when the table knows the bore."""
    for pipe in pipes:
        if pipe.use == use and abs(pipe.bore_mm - bore_mm) < 0.05:
            if pipe.bore_low_mm < pipe.bore_mm:
                yield Doubt(field, (pipe.bore_low_mm / bore_mm,))
            return


def layout_span(one: Candidate, pipes: Sequence[PipeSize]) -> LayoutSpan:
    """Range of evenness, least flow and minutes over the bad cases, alone and together.

    Parameters
    ----------
    one : Candidate
        The recommended layout.
    pipes : sequence of PipeSize
        Gives the narrowest bore of each size.
    """
    found = doubts(one, pipes)
    alone = {
        doubt.field: [_case(one, {doubt.field: factor}) for factor in doubt.factors]
        for doubt in found
    }
    cases = [one, *(case for some in alone.values() for case in some)]
    if len(found) > 1:
        cases.extend(_together(one, found))
    full = [case.worst_full for case in cases]
    minutes = [case.drains[case.worst].empty_minutes for case in cases]
    return LayoutSpan(
        emission_uniformity_pct=_range([each.emission_uniformity_pct for each in full]),
        min_flow_lph=_range([each.min_flow_lph for each in full]),
        empty_minutes=_range(minutes),
        assumed=tuple(alone),
        verdict_hangs_on=tuple(
            field
            for field, some in alone.items()
            if any(case.meets_goal != one.meets_goal for case in some)
        ),
    )


def _together(one: Candidate, found: Sequence[Doubt]) -> Iterator[Candidate]:
    """Yield the cases in which all that is doubtful is at its worst at once."""
    narrow = {doubt.field: doubt.factors[0] for doubt in found if doubt.field != FLOW}
    flows = [doubt.factors for doubt in found if doubt.field == FLOW]
    for factor in flows[0] if flows else (1.0,):
        yield _case(one, {**narrow, FLOW: factor})


def _case(one: Candidate, factors: dict[str, float]) -> Candidate:
    """Return the same layout with some values multiplied."""
    card, network = _changed(one.card, factors), one.network
    bore = network.bore * factors.get(SUBMAIN, 1.0)
    # Fittings are taken anew for the narrower pipe, as for a card that told of it.
    lines = Lines(one.surface)
    changed = network_of(card, network.position, network.lines_run, bore, lines)
    return candidate(card, changed, len(one.blocks))


def _changed(card: PlotCard, factors: dict[str, float]) -> PlotCard:
    dripline = card.dripline
    values = {
        "inner_diameter_mm": dripline.inner_diameter_mm * factors.get(BORE, 1.0),
        "emitter_flow_lph": dripline.emitter_flow_lph * factors.get(FLOW, 1.0),
    }
    return card.model_copy(update={"dripline": dripline.model_copy(update=values)})


def _range(values: Sequence[float | None]) -> Range:
    """Return the least and the greatest; None for the greatest when a time has no end."""
    known = [value for value in values if value is not None]
    endless = len(known) < len(values)
    return Range(
        low=min(known) if known else None, high=None if endless or not known else max(known)
    )


def warnings(span: LayoutSpan, meets_goal: bool) -> Iterator[PlanWarning]:
    """Yield the warning that a verdict hangs on what was assumed."""
    if span.verdict_hangs_on:
        yield PlanWarning.model_validate(
            {
                "code": "verdict_hangs_on_assumed",
                "fields": span.verdict_hangs_on,
                "meets_goal": meets_goal,
                "emission_uniformity_low_pct": span.emission_uniformity_pct.low,
                "emission_uniformity_high_pct": span.emission_uniformity_pct.high,
            }
        )
