"""A network at one water level, exactly: heads and flows of submain, lines and emitters."""

from __future__ import annotations

import math
from dataclasses import dataclass

from service.errors import NotConverged
from service.sizing.block import Block
from service.sizing.geometry import Network, network_of

__all__ = ["Network", "State", "network_of", "solve", "solve_block"]


@dataclass(frozen=True, slots=True)
class State:
    """One block at one water level, exactly.

    Attributes
    ----------
    surface : float
        Height of the water surface above the ground at the tank [m].
    first, last : int
        Open taps, from 0.
    tap_heads : tuple of float
        Head above the ground at each tap from the tank to the last open one [m].
    submain_flows : tuple of float
        Flow in the submain before each of these taps [m³/s].
    line_flows : tuple of tuple of float
        Flow into each line [m³/s], by open tap and side.
    emitter_heads : tuple of tuple of float
        Head at each emitter [m]: lines in tap order, side one then side two, emitters from the
        tap on.
    """

    surface: float
    first: int
    last: int
    tap_heads: tuple[float, ...]
    submain_flows: tuple[float, ...]
    line_flows: tuple[tuple[float, ...], ...]
    emitter_heads: tuple[tuple[float, ...], ...]
    emitter_flows: tuple[tuple[float, ...], ...]
    """Flow of each emitter [m³/s], in the order of `emitter_heads`."""

    @property
    def flow(self) -> float:
        """Flow of the whole block [m³/s]."""
        return math.fsum(math.fsum(flows) for flows in self.line_flows)


SUBMAIN_RESIDUAL = 2e-5
"""How far exact line flows may leave the head balance of the submain [m], or this part of it."""
CORRECTIONS = 8


def solve(network: Network, water_level: float, taps: tuple[int, int] | None = None) -> State:
    """State of a network at a water level [m] above the tank's base.

    Parameters
    ----------
    network : Network
        The layout.
    water_level : float
        Above the base of the tank [m].
    taps : tuple of int, optional
        First and last open tap, from 0; all when not given.

    Raises
    ------
    NotConverged
        When heads and flows do not agree; the layout is named.
    """
    first, last = taps if taps is not None else (0, len(network.taps) - 1)
    surface = network.stand + water_level
    return solve_block(Block(network, first, last, surface), surface)


def solve_block(block: Block, surface: float) -> State:
    """State of a block at a height of the water surface [m] above the ground at the tank.

    Raises
    ------
    NotConverged
        When heads and flows do not agree after a few corrections; the layout is named.
    """
    asked, residual = block, math.inf
    for _ in range(CORRECTIONS):
        state = _state(asked, surface)
        residual = _residual(block, state)
        if residual <= SUBMAIN_RESIDUAL * max(1.0, abs(surface)):
            return state
        asked = block.corrected(_factors(block, state))
    raise NotConverged(block.curve.what, residual)


def _state(block: Block, surface: float) -> State:
    network, march = block.network, block.solved(surface)
    heads = march.heads[::-1]
    line_flows: list[tuple[float, ...]] = []
    emitter_heads: list[tuple[float, ...]] = []
    for tap in range(block.first, block.last + 1):
        lines = [line.solved(heads[tap] - offset) for line, offset in block.offsets]
        line_flows.append(tuple(flow for flow, _ in lines))
        emitter_heads.extend(tuple(found) for _, found in lines)
    law = network.sides[0].shape.law
    return State(
        surface=surface,
        first=block.first,
        last=block.last,
        tap_heads=tuple(over + network.lowest for over in heads),
        submain_flows=tuple(march.flows[::-1]),
        line_flows=tuple(line_flows),
        emitter_heads=tuple(emitter_heads),
        emitter_flows=tuple(tuple(map(law.flow, line)) for line in emitter_heads),
    )


def _residual(block: Block, state: State) -> float:
    """Walk from the tank with the exact line flows; return how far taps' heads are missed [m]."""
    network, worst = block.network, 0.0
    flow = state.flow
    head = state.surface - network.down.law.loss(flow, network.down.length, network.down.minor_k)
    for tap, over in enumerate(state.tap_heads):
        piece = network.pieces[tap]
        # Behind the last line that runs, flow is what floats leave of a difference: nothing.
        head -= piece.law.loss(max(flow, 0.0), piece.length, piece.minor_k)
        worst = max(worst, abs(head - network.ground[tap] - over))
        if tap >= block.first:
            flow -= math.fsum(state.line_flows[tap - block.first])
    return worst


def _factors(block: Block, state: State) -> list[list[float]]:
    """Exact flow of each line over what its curve says at the same head."""
    network = block.network
    rows = []
    for tap, flows in enumerate(state.line_flows, block.first):
        over = state.tap_heads[tap] - network.lowest
        read = [line.flow(line.curve.at(over - offset)[0]) for line, offset in block.offsets]
        rows.append([f / r if r > 0.0 else 1.0 for f, r in zip(flows, read, strict=True)])
    return rows
