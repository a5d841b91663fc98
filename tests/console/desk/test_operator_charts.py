"""Charts: which lines they show, and how their axes are marked."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.console.desk.operator_charts import (
    along_lines,
    by_month,
    round_steps,
    some_lines,
    telling_lines,
)
from service.desk.curves import LineCurve


def line(number: int, *flow: float) -> LineCurve:
    way = tuple(0.15 + 0.3 * place for place in range(len(flow)))
    return LineCurve(number, 1, float(number), 1, way, flow, flow)


def test_first_last_and_weakest_are_shown_each_once() -> None:
    lines = [line(1, 1.0), line(2, 0.4), line(3, 0.9), line(4, 0.8)]
    assert [one.line for one in telling_lines(lines)] == [1, 2, 4]
    assert [one.line for one in telling_lines(lines[:1])] == [1]
    assert telling_lines([]) == ()


def test_of_very_many_lines_some_are_told_the_weakest_among_them() -> None:
    lines = [line(number, 0.1 if number == 38 else 1.0) for number in range(1, 301)]
    told = [one.line for one in some_lines(lines)]
    assert len(told) <= 43
    assert {1, 38, 300} <= set(told)
    assert told == sorted(told)
    assert some_lines(lines[:40]) == tuple(lines[:40])
    assert some_lines([]) == ()


def test_a_long_line_is_drawn_to_its_end_with_few_points() -> None:
    long = line(1, *(1.0 - place / 4000 for place in range(2000)))
    svg = along_lines([long], lambda one: one.flow_lph, str, ("way", "flow"), str)
    assert len(svg) < 15_000
    assert ">600<" in svg


@pytest.mark.parametrize(
    ("most", "steps"),
    [
        (0, [0, 1]),
        (2.35, [0, 0.5, 1, 1.5, 2, 2.5]),
        (194, [0, 50, 100, 150, 200]),
        (0.484, [0, 0.1, 0.2, 0.3, 0.4, 0.5]),
    ],
)
def test_axes_begin_at_nought_and_have_round_steps(most: float, steps: list[float]) -> None:
    assert round_steps(most) == pytest.approx(steps)


@given(st.floats(1e-6, 1e9))
def test_an_axis_reaches_its_greatest_value_in_few_steps(most: float) -> None:
    steps = round_steps(most)
    assert steps[0] == 0
    assert steps[-1] >= most * (1 - 1e-6)
    assert 2 <= len(steps) <= 7


def test_a_chart_names_its_lines_and_axes() -> None:
    lines = [line(1, 0.5, 0.4), line(9, 0.0, 0.0)]
    svg = along_lines(lines, lambda one: one.flow_lph, "Line {}".format, ("way", "flow"), str)
    words = [one.text for one in ElementTree.fromstring(svg).iter() if one.text]
    assert {"Line 1", "Line 9", "way", "flow"} <= set(words)


def test_names_that_look_like_markup_stay_words() -> None:
    svg = by_month([("<b>", 3.0), ("&", 0.0)], "water", str)
    words = [one.text for one in ElementTree.fromstring(svg).iter() if one.text]
    assert {"<b>", "&"} <= set(words)
