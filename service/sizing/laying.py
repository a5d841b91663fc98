"""What the parts of a layout depend on: trade sizes, metres of pipe, lines and blocks.

With blocks, a tee and a valve stand at the first tap of each block and its own header runs beside
the submain to its last tap; the submain itself ends as the header of the last block. So the water
of each block goes as far as the network rules say.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.sizing.card import PlotCard
from service.sizing.coils import CUT_ALLOWANCE_M
from service.sizing.inlet import inlet_size
from service.sizing.parts_rules import THREAD_INCHES
from service.sizing.pipes import PipeSize, PipeUse
from service.sizing.result import Layout
from service.units import metres


@dataclass(frozen=True, slots=True)
class Laying:
    """One layout as its parts see it.

    Attributes
    ----------
    pipe, line : int
        Trade size of the submain and of the dripline or tape [mm].
    thread : str
        Thread of tank connector, valve and filter: dn and the nominal bore [mm].
    tape : bool
        Whether the lines are thin tape.
    pipe_m : float
        Down pipe, submain and headers of the first size, cuts included [m].
    line_count, line_length_m : int, float
        Lines, and the length of one as it lies [m].
    starts, ends : tuple of int
        Trade size of the pipe where each block starts and ends, in block order [mm].
    filter : bool
        Whether a screen filter is fitted.
    second, second_m, reducers : int, float, int
        Trade size [mm] and length [m] of pipe beyond the point where the submain changes, and how
        many pipes change there; noughts when it does not.
    """

    pipe: int
    line: int
    thread: str
    tape: bool
    pipe_m: float
    line_count: int
    line_length_m: float
    starts: tuple[int, ...]
    ends: tuple[int, ...]
    filter: bool = True
    second: int = 0
    second_m: float = 0.0
    reducers: int = 0


def trade_size(bore_mm: float, pipes: Sequence[PipeSize], uses: Sequence[PipeUse]) -> PipeSize:
    """The pipe as sold that has a bore, or comes nearest to it.

    Parameters
    ----------
    bore_mm : float
        Inner diameter [mm].
    pipes : sequence of PipeSize
        The pipe table.
    uses : sequence of str
        What it is for: submain, dripline, tape; where several pipes fit, the use named first wins.

    Raises
    ------
    ValueError
        The table has no pipe for these uses.
    """

    def rank(pipe: PipeSize) -> tuple[bool, int, float]:
        outside = not pipe.bore_low_mm <= bore_mm <= pipe.bore_high_mm
        # Where no bore fits, nearness alone decides.
        return (outside, 0 if outside else uses.index(pipe.use), abs(pipe.bore_mm - bore_mm))

    fitting = [pipe for pipe in pipes if pipe.use in uses]
    if not fitting:
        raise ValueError(f"the pipe table has nothing for {', '.join(uses)}")
    return min(fitting, key=rank)


def laying(
    card: PlotCard,
    pipes: Sequence[PipeSize],
    *,
    bore_mm: float,
    line_count: int,
    line_length_m: float,
    tap_positions_m: Sequence[float],
    block_taps: Sequence[tuple[int, int]],
) -> Laying:
    """What the parts of a layout depend on.

    Parameters
    ----------
    card : PlotCard
        For stand, tank outlet, filter, dripline and a second bore.
    pipes : sequence of PipeSize
        The pipe table.
    bore_mm : float
        Inner diameter of the submain [mm].
    line_count : int
        Lines on all taps together.
    line_length_m : float
        One line [m].
    tap_positions_m : sequence of float
        Distance of each tap from the tank along the submain [m].
    block_taps : sequence of (int, int)
        First and last tap of each block, in tap order, counted from whatever number the first
        block begins with.
    """
    pipe = _submain_size(bore_mm, pipes)
    line = trade_size(card.dripline.inner_diameter_mm, pipes, ("dripline", "tape"))
    first, last = _block_ends_m(tap_positions_m, block_taps)
    runs = [(0.0, last[-1]), *zip(first[:-1], last[:-1], strict=True)]
    down_m = card.stand_height_m + card.tank.outlet_height_m
    laid_m = down_m + sum(end - start for start, end in runs) + CUT_ALLOWANCE_M * (1 + len(runs))
    change_m, second = _change(card, pipes, tap_positions_m)
    if second == pipe:
        change_m, second = math.inf, 0
    second_m = sum(max(0.0, end - max(start, change_m)) for start, end in runs)
    return Laying(
        pipe=pipe,
        line=round(line.outer_mm),
        thread=_thread(bore_mm),
        tape=line.use == "tape",
        pipe_m=laid_m - second_m,
        line_count=line_count,
        line_length_m=line_length_m,
        starts=tuple(second if start > change_m else pipe for start in first),
        ends=tuple(second if end > change_m else pipe for end in last),
        filter=card.filter,
        second=second if second_m else 0,
        second_m=second_m,
        reducers=sum(start <= change_m < end for start, end in runs),
    )


def laying_of(card: PlotCard, layout: Layout, pipes: Sequence[PipeSize]) -> Laying:
    """What the parts of a layout of a plan depend on."""
    return laying(
        card,
        pipes,
        bore_mm=layout.submain_inner_diameter_mm,
        line_count=layout.line_count,
        line_length_m=layout.line_length_m,
        tap_positions_m=layout.tap_positions_m,
        block_taps=[(block.first_tap, block.last_tap) for block in layout.block],
    )


def _submain_size(bore_mm: float, pipes: Sequence[PipeSize]) -> int:
    # A submain as thin as a dripline exists on cards: it is bought as plain pipe of that size.
    return round(trade_size(bore_mm, pipes, ("submain", "dripline")).outer_mm)


def _thread(bore_mm: float) -> str:
    """Return the thread of the fittings at the tank that the network counts on."""
    inches = inlet_size(metres(bore_mm)).name.removesuffix(" inch")
    return next(thread for thread, told in THREAD_INCHES.items() if told == inches)


def _change(
    card: PlotCard, pipes: Sequence[PipeSize], taps_m: Sequence[float]
) -> tuple[float, int]:
    """Return where the submain changes its bore [m from the tank] and its size beyond [mm]."""
    second = card.submain.second
    if second is None or second.from_tap > len(taps_m):
        return math.inf, 0
    return taps_m[second.from_tap - 1], _submain_size(second.inner_diameter_mm, pipes)


def _block_ends_m(
    taps_m: Sequence[float], block_taps: Sequence[tuple[int, int]]
) -> tuple[list[float], list[float]]:
    """Return where the first and the last tap of each block are [m from the tank]."""
    begin = block_taps[0][0]
    return (
        [taps_m[first - begin] for first, _ in block_taps],
        [taps_m[last - begin] for _, last in block_taps],
    )
