"""Charts of a plot as SVG pictures: head and flow along lines, and the months.

A chart is a picture with an address of its own; the numbers stand in a table beside it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from xml.etree import ElementTree

import leather  # type: ignore[import-untyped]
from leather import theme

from service.desk.curves import LineCurve

Write = Callable[[float], str]

MOST_ROWS, MOST_POINTS = 40, 60
"""Of a table and of a line in a chart, so that a page stays light: our choice."""
WIDTH, HEIGHT = 640, 360
INK, SOFT, GRID = "#20292e", "#4a565c", "#d8dfe0"
COLOURS = ("#1c3743", "#a8480f", "#2f7f6d")
"""Of the lines of a chart: each stands out from white by 4.5:1 or more."""
DASHES = ("none", "9 4", "3 3")
"""Beside the colours, for whoever cannot tell them apart."""
_FACES = "system-ui, sans-serif"


def _dress() -> None:
    """Give the library our colours; it keeps them in its module, once for all charts."""
    theme.background_color = "#ffffff"
    theme.margin = 0.03
    theme.legend_color = theme.label_color = theme.axis_title_color = INK
    theme.tick_color, theme.zero_color = GRID, SOFT
    theme.legend_font_family = theme.tick_font_family = theme.axis_title_font_family = _FACES
    theme.axis_title_gap = 22


_dress()


def telling_lines(lines: Sequence[LineCurve]) -> tuple[LineCurve, ...]:
    """Return the lines worth a look: the first, the last, and the one with the weakest emitter."""
    if not lines:
        return ()
    weakest = min(lines, key=lambda line: min(line.flow_lph, default=0.0))
    picked = {line.line: line for line in (lines[0], lines[-1], weakest)}
    return tuple(picked[number] for number in sorted(picked))


def some_lines(lines: Sequence[LineCurve], most: int = MOST_ROWS) -> tuple[LineCurve, ...]:
    """Return all lines, or about `most` of very many, the telling ones among them."""
    step = math.ceil(len(lines) / most) or 1
    picked = {line.line: line for line in (*lines[::step], *telling_lines(lines))}
    return tuple(picked[number] for number in sorted(picked))


def along_lines(
    lines: Sequence[LineCurve],
    values: Callable[[LineCurve], Sequence[float]],
    line_name: Callable[[int], str],
    axes: tuple[str, str],
    write: Write,
) -> str:
    """Return the chart of a value at each emitter of some lines, from the tap on.

    `axes` names the way from the tap and the value; `write` writes a number.
    """
    chart = leather.Chart()
    for place, line in enumerate(lines):
        points = _thinned(list(zip(line.at_m, values(line), strict=True)))
        chart.add_line(
            points,
            name=line_name(line.line),
            stroke_color=COLOURS[place % len(COLOURS)],
            stroke_dasharray=DASHES[place % len(DASHES)],
        )
    ways = [way for line in lines for way in line.at_m]
    heights = [value for line in lines for value in values(line)]
    _axis(chart.add_x_scale, chart.add_x_axis, ways, axes[0], write)
    _axis(chart.add_y_scale, chart.add_y_axis, heights, axes[1], write)
    return _svg(chart)


def _thinned(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return some of very many points, the last among them; heads fall smoothly along a line."""
    step = math.ceil(len(points) / MOST_POINTS)
    kept = points[::step]
    return kept if kept[-1] == points[-1] else [*kept, points[-1]]


def by_month(rows: Sequence[tuple[str, float]], axis: str, write: Write) -> str:
    """Return the chart of a value month by month; the months' names differ."""
    chart = leather.Chart()
    chart.add_columns(list(rows), fill_color=COLOURS[0])
    _axis(chart.add_y_scale, chart.add_y_axis, [value for _, value in rows], axis, write)
    return _svg(chart)


def _axis(
    scale: Callable[..., None],
    axis: Callable[..., None],
    values: Sequence[float],
    name: str,
    write: Write,
) -> None:
    """Begin an axis at 0, so that what differs little looks as if it did, with round steps."""
    steps = round_steps(max(values, default=0.0))
    scale(0, steps[-1])
    axis(ticks=steps, tick_formatter=lambda value, index, count: write(value), name=name)


def round_steps(most: float) -> list[float]:
    """Return about five round values from 0 to `most` or just above."""
    if most <= 0 or not math.isfinite(most):
        return [0.0, 1.0]
    rough = most / 5
    size = 10 ** math.floor(math.log10(rough))
    step = next(size * times for times in (1, 2, 2.5, 5, 10) if size * times >= rough - 1e-12)
    count = math.ceil(most / step - 1e-9)
    return [round(step * number, 10) for number in range(count + 1)]


def _svg(chart: leather.Chart) -> str:
    """Return a chart as a picture that grows and shrinks with its page."""
    root = ElementTree.Element(
        "svg",
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDTH} {HEIGHT}",
        width=str(WIDTH),
        height=str(HEIGHT),
    )
    root.append(chart.to_svg_group(WIDTH, HEIGHT))
    return ElementTree.tostring(root, encoding="unicode")
