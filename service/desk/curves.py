"""Head and flow along every line of a layout, for a chart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.sizing.card import Dripline, PlotCard
from service.sizing.result import Layout

LINES_PER_TAP = {"corner": 1, "mid_side": 2}


@dataclass(frozen=True, slots=True)
class LineCurve:
    """One line: its number in tap order, where its tap is, and each emitter from the tap on.

    With the tank full and the line's own block open. `at_m` is the way from the tap [m],
    `flow_lph` the flow [L/h] and `head_m` the head [m] at each emitter.
    """

    line: int
    side: int
    tap_m: float
    block: int
    at_m: tuple[float, ...]
    flow_lph: tuple[float, ...]
    head_m: tuple[float, ...]


def line_curves(card: PlotCard, layout: Layout) -> tuple[LineCurve, ...]:
    """Return the lines of a layout that was reckoned with emitters; none without them.

    The head is the one that gives the flow: q = c k h^x (docs/network.md) turned round.
    """
    if layout.emitter_flow_lph is None:
        return ()
    return tuple(_curves(card, layout, layout.emitter_flow_lph))


def _curves(
    card: PlotCard, layout: Layout, flows: Sequence[Sequence[float]]
) -> Iterator[LineCurve]:
    sides = LINES_PER_TAP[layout.tank_position]
    spacing = card.dripline.emitter_spacing_m
    for place, line in enumerate(flows):
        tap = place // sides
        yield LineCurve(
            line=place + 1,
            side=place % sides + 1,
            tap_m=layout.tap_positions_m[tap],
            block=_block(layout, tap),
            at_m=tuple((emitter + 0.5) * spacing for emitter in range(len(line))),
            flow_lph=tuple(line),
            head_m=tuple(head_of(flow, card.dripline) for flow in line),
        )


def _block(layout: Layout, tap: int) -> int:
    """Return the number of the block that a tap belongs to."""
    for number, block in enumerate(layout.block, 1):
        if block.first_tap <= tap + 1 <= block.last_tap:
            return number
    return 1


def head_of(flow_lph: float, dripline: Dripline) -> float:
    """Head [m] that gives a flow [L/h]; 0 where nothing comes."""
    share = flow_lph / (dripline.calibration * dripline.emitter_flow_lph)
    return dripline.reference_head_m * share ** (1.0 / dripline.exponent) if share > 0 else 0.0
