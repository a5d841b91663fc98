"""One candidate layout: its blocks, their flows with the tank full, and its time to empty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from service.sizing import result
from service.sizing.block import Block
from service.sizing.card import PlotCard
from service.sizing.emptying import Emptying, emptying
from service.sizing.network import Network, State, solve_block
from service.sizing.tank import TankBody, tank_body
from service.sizing.uniformity import (
    VARIATION_REFUSE_PCT,
    emission_uniformity,
    flow_variation,
    goal_emission_uniformity,
)
from service.units import MINUTES_PER_HOUR, litres_per_hour, millimetres


def block_taps(taps: int, blocks: int) -> tuple[tuple[int, int], ...]:
    """First and last tap (from 0) of each block: neighbours stay together.

    Blocks are as equal as can be; where the taps do not divide, the blocks nearest the tank take
    one more each.
    """
    share, extra = divmod(taps, blocks)
    starts = [block * share + min(block, extra) for block in range(blocks + 1)]
    return tuple((start, following - 1) for start, following in pairwise(starts))


def full_tank(block: Block, surface: float, cv: float) -> result.FullTank:
    """Flows [L/h] of a block at a height of the water surface [m], and how even they are.

    Dry emitters are not counted here: that needs every single one.
    """
    law = block.network.sides[0].shape.law
    effective, least_head, greatest_head = block.at(surface)
    least, greatest = law.flow(least_head), law.flow(greatest_head)
    mean = law.flow(effective)
    return result.FullTank(
        total_flow_lph=litres_per_hour(mean * block.emitters),
        min_flow_lph=litres_per_hour(least),
        mean_flow_lph=litres_per_hour(mean),
        max_flow_lph=litres_per_hour(greatest),
        emission_uniformity_pct=emission_uniformity(cv, least, mean),
        flow_variation_pct=flow_variation(least, greatest),
    )


def _dry_emitters(block: Block, surface: float) -> int:
    state = solve_block(block, surface)
    return sum(flow <= 0.0 for line in state.emitter_flows for flow in line)


@dataclass(frozen=True)
class Candidate:
    """A network split into blocks, with the tank that feeds it; reckoned once, when asked."""

    card: PlotCard
    network: Network
    blocks: tuple[Block, ...]

    @property
    def surface(self) -> float:
        """Height of the water surface with the tank full [m]."""
        return self.network.stand + self.card.tank.water_depth_m

    @cached_property
    def tank(self) -> TankBody:
        """The tank as a body of water."""
        return tank_body(self.card.tank)

    @cached_property
    def full(self) -> tuple[result.FullTank, ...]:
        """Flows of each block with the tank full."""
        cv = self.card.dripline.cv
        return tuple(full_tank(block, self.surface, cv) for block in self.blocks)

    @cached_property
    def counted(self) -> tuple[result.FullTank, ...]:
        """As `full`, with the emitters counted that give nothing."""
        return tuple(
            full
            if full.min_flow_lph > 0.0
            else full.model_copy(update={"dry_emitters": _dry_emitters(block, self.surface)})
            for block, full in zip(self.blocks, self.full, strict=True)
        )

    @cached_property
    def worst(self) -> int:
        """Index of the block with the lowest emission uniformity."""
        return min(
            range(len(self.full)), key=lambda block: self.full[block].emission_uniformity_pct
        )

    @property
    def worst_full(self) -> result.FullTank:
        """Flows of the worst block."""
        return self.full[self.worst]

    @property
    def goal(self) -> float:
        """Goal of emission uniformity on this ground [%]."""
        plot = self.card.plot
        return goal_emission_uniformity(plot.slope_length_pct, plot.slope_width_pct)

    @property
    def meets_goal(self) -> bool:
        """Whether every block is even enough."""
        return all(
            full.emission_uniformity_pct >= self.goal
            and full.flow_variation_pct <= VARIATION_REFUSE_PCT
            for full in self.full
        )

    @cached_property
    def drains(self) -> tuple[Emptying, ...]:
        """How the full tank runs through each block."""
        return tuple(self._drain(block) for block in self.blocks)

    def _drain(self, block: Block) -> Emptying:
        stand = self.network.stand
        return emptying(
            lambda level: block.flow(stand + level),
            block.dry - stand,
            self.tank,
            block.curve.what,
        )

    def minutes_for_litres(self, litres: float) -> float | None:
        """Minutes of open valve that give so many litres, all blocks and sets together.

        Every line gets its equal share. The blocks are opened in turn, and each goes on from the
        level at which the one before left the tank; the tank is filled again when it is empty.

        Returns
        -------
        float or None
            [min]; None when the water stops before the outlet is reached, or the tank is fed as
            fast as it drains, so that it never gets there.
        """
        return minutes_in_turn(self.drains, [block.line_count for block in self.blocks], litres)

    def minutes_bounds(self, litres: float) -> tuple[float, float]:
        """Minutes between which `minutes_for_litres` lies, from flows at the top and the bottom.

        Where a tank is fed while it drains, or does not empty, the bounds say nothing.
        """
        if any(drain.stop != "outlet" for drain in self.drains) or self.tank.inflow > 0.0:
            return 0.0, math.inf
        least = most = 0.0
        bottom = self.network.stand + self.tank.outlet
        for block, full in zip(self.blocks, self.full, strict=True):
            due = litres * block.line_count / self.network.line_count
            slowest = litres_per_hour(block.flow(bottom))
            least += due / full.total_flow_lph * MINUTES_PER_HOUR
            most += due / slowest * MINUTES_PER_HOUR if slowest > 0.0 else math.inf
        return least, most

    def states(self, surface: float | None = None) -> tuple[State, ...]:
        """Every head and flow of each block, with the tank full when no surface [m] is given."""
        level = self.surface if surface is None else surface
        return tuple(solve_block(block, level) for block in self.blocks)

    def emitter_flows(self) -> tuple[tuple[float, ...], ...]:
        """Flow of each emitter [L/h], line by line in tap order, with the tank full."""
        return tuple(
            tuple(map(litres_per_hour, line))
            for state in self.states()
            for line in state.emitter_flows
        )

    def layout(self, cost: float | None = None, with_emitters: bool = False) -> result.Layout:
        """This candidate as a plan says it."""
        network, worst = self.network, self.drains[self.worst]
        return result.Layout(
            tank_position=network.position,
            lines_run=network.lines_run,
            blocks=len(self.blocks),
            line_count=network.line_count,
            line_length_m=network.line_length,
            line_spacing_m=network.spacing,
            emitters_per_line=network.emitters_per_line,
            tap_positions_m=network.taps,
            submain_length_m=network.taps[-1],
            submain_inner_diameter_mm=millimetres(network.bore),
            inlet_k=network.down.minor_k,
            full_tank=self.counted[self.worst],
            empty_minutes=worst.empty_minutes,
            delivered_litres=worst.delivered_litres,
            block=tuple(self._block(index) for index in range(len(self.blocks))),
            meets_goal=self.meets_goal,
            goal_emission_uniformity_pct=self.goal,
            parts_cost=cost,
            emitter_flow_lph=self.emitter_flows() if with_emitters else None,
        )

    def _block(self, index: int) -> result.Block:
        block, drain = self.blocks[index], self.drains[index]
        return result.Block(
            first_tap=block.first + 1,
            last_tap=block.last + 1,
            line_count=block.line_count,
            full_tank=self.counted[index],
            empty_minutes=drain.empty_minutes,
            delivered_litres=drain.delivered_litres,
        )


def candidate(card: PlotCard, network: Network, blocks: int) -> Candidate:
    """Candidate of a network whose taps are shared out among so many blocks."""
    highest = network.stand + card.tank.water_depth_m
    return Candidate(
        card,
        network,
        tuple(
            Block(network, first, last, highest)
            for first, last in block_taps(len(network.taps), blocks)
        ),
    )


def minutes_in_turn(
    drains: Sequence[Emptying], lines: Sequence[int], litres: float
) -> float | None:
    """Minutes in which blocks opened in turn share out so many litres; see `minutes_for_litres`."""
    total, given, minutes = float(sum(lines)), 0.0, 0.0
    fill = min(drain.delivered_litres for drain in drains)
    if litres <= 0.0:
        return 0.0
    if fill <= 0.0:
        return None
    for drain, count in zip(drains, lines, strict=True):
        due = litres * count / total
        start = drain.minutes_at(given % fill)
        whole, rest = divmod(given % fill + due, fill)
        last, round_minutes = drain.minutes_at(rest), drain.minutes_at(fill)
        if start is None or last is None or round_minutes is None:
            return None
        minutes += whole * round_minutes + last - start
        given += due
    return minutes
