"""Where everything of a layout lies on the ground, turned so that the long side lies flat.

Metres, x to the right and y downwards as on the page. The submain starts at the plot's top left
corner (corner) or at the middle of the top or left side (mid_side).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from service.sizing.card import PlotCard
from service.sizing.result import Layout

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Band:
    """The strip of ground that one block waters.

    Attributes
    ----------
    number : int
        From 1.
    start_m, end_m : float
        Along the submain from the tank [m].
    first_m, last_m : float
        First and last tap [m].
    """

    number: int
    start_m: float
    end_m: float
    first_m: float
    last_m: float


@dataclass(frozen=True, slots=True)
class Ground:
    """A layout on the ground.

    Attributes
    ----------
    width_m, height_m : float
        Of the plot on the page [m]; width is the longer side.
    down : bool
        Whether the submain runs down the page (lines lie flat), or across it.
    middle : bool
        Whether the submain runs along the middle line, with lines on both sides.
    taps_m : tuple of float
        Taps along the submain from the tank [m].
    line_m : float
        Length of one line [m].
    bands : tuple of Band
        Blocks in order.
    """

    width_m: float
    height_m: float
    down: bool
    middle: bool
    taps_m: tuple[float, ...]
    line_m: float
    bands: tuple[Band, ...]

    @property
    def along_m(self) -> float:
        """Side of the plot along which the submain runs [m]."""
        return self.height_m if self.down else self.width_m

    @property
    def across_m(self) -> float:
        """Side of the plot along which the lines lie [m]."""
        return self.width_m if self.down else self.height_m

    @property
    def axis_m(self) -> float:
        """Distance of the submain from the plot's left or top side [m]."""
        return self.across_m / 2.0 if self.middle else 0.0

    def at(self, along_m: float, across_m: float) -> Point:
        """Place on the page [m] of a point along the submain and across from the plot's side."""
        return (across_m, along_m) if self.down else (along_m, across_m)

    def lines(self) -> Iterator[tuple[float, float, float]]:
        """Yield each line in the order of the result: along, from and to across [m]."""
        for tap in self.taps_m:
            yield tap, self.axis_m, self.axis_m + self.line_m
            if self.middle:
                yield tap, self.axis_m, self.axis_m - self.line_m


def ground_of(card: PlotCard, layout: Layout) -> Ground:
    """A layout on the ground."""
    length, width = card.plot.length_m, card.plot.width_m
    flat_is_length = length >= width
    return Ground(
        width_m=max(length, width),
        height_m=min(length, width),
        down=(layout.lines_run == "length") == flat_is_length,
        middle=layout.tank_position == "mid_side",
        taps_m=layout.tap_positions_m,
        line_m=layout.line_length_m,
        bands=tuple(_bands(layout)),
    )


def _bands(layout: Layout) -> Iterator[Band]:
    half = layout.line_spacing_m / 2.0
    begin = layout.block[0].first_tap
    for number, block in enumerate(layout.block, start=1):
        first = layout.tap_positions_m[block.first_tap - begin]
        last = layout.tap_positions_m[block.last_tap - begin]
        yield Band(number, first - half, last + half, first, last)


def line_shares(layout: Layout) -> tuple[float, ...]:
    """Flow of each line over the mean of all lines [-], in tap order; none without emitters."""
    flows = [sum(line) for line in layout.emitter_flow_lph or ()]
    mean = sum(flows) / len(flows) if flows else 0.0
    return tuple(flow / mean for flow in flows) if mean > 0 else ()
