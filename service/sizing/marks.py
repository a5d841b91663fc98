"""What an installer measures and cuts: marks on the submain from the tank, lengths of lines.

All marks count from the tank along the submain, so that a tape stretched once shows them all.
"""

from __future__ import annotations

from dataclasses import dataclass

from service.sizing.coils import CUT_ALLOWANCE_M
from service.sizing.result import Layout

EXPANSION_PER_K = 2e-4
"""Growth of polyethylene pipe with warmth [1/K]: from memory, not verified."""
DAY_AND_NIGHT_K = 40.0
"""Between a black line in the midday sun and a cold night [K]: common practice, no source."""


@dataclass(frozen=True, slots=True)
class BlockMarks:
    """Where a block lies on the submain.

    Attributes
    ----------
    first_m, last_m : float
        Its first tap, where its valve stands when there are several blocks, and its last [m].
    line_count : int
        Lines behind its valve.
    """

    first_m: float
    last_m: float
    line_count: int


@dataclass(frozen=True, slots=True)
class Marks:
    """Everything to measure before the first cut.

    Attributes
    ----------
    taps_m : tuple of float
        Marks for the holes, from the tank [m].
    spacing_m : float
        From mark to mark [m].
    holes_each : int
        1, or 2 where lines leave to both sides.
    line_count : int
        Lines to cut.
    line_m, cut_m : float
        One line as it lies, and as it is cut: the length that the parts list counts [m].
    shrink_m : float
        By how much a line shortens from the midday sun to the cold of night [m].
    blocks : tuple of BlockMarks
        In the order from the tank.
    """

    taps_m: tuple[float, ...]
    spacing_m: float
    holes_each: int
    line_count: int
    line_m: float
    cut_m: float
    shrink_m: float
    blocks: tuple[BlockMarks, ...]

    @property
    def hole_count(self) -> int:
        """Holes to punch, one a line."""
        return len(self.taps_m) * self.holes_each


def marks(layout: Layout) -> Marks:
    """Return what is measured and cut for a layout."""
    taps, begin = layout.tap_positions_m, layout.block[0].first_tap
    return Marks(
        taps_m=taps,
        spacing_m=layout.line_spacing_m,
        holes_each=2 if layout.tank_position == "mid_side" else 1,
        line_count=layout.line_count,
        line_m=layout.line_length_m,
        cut_m=layout.line_length_m + CUT_ALLOWANCE_M,
        shrink_m=EXPANSION_PER_K * DAY_AND_NIGHT_K * layout.line_length_m,
        blocks=tuple(
            BlockMarks(
                first_m=taps[block.first_tap - begin],
                last_m=taps[block.last_tap - begin],
                line_count=block.line_count,
            )
            for block in layout.block
        ),
    )
