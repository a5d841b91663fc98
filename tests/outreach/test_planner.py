"""Quick plans give what the one-plot path gives: same layout, same minutes, same words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.advice import Context, Planner
from service.advice.registry import registry
from service.advice.water_case import crop_waters
from service.advice.water_screens import today_of
from service.errors import CardError
from service.outreach.planner import ManyPlans
from service.sizing.result import Layout
from service.wiring.tables import load_tables

TABLES = load_tables(None, None).tables
DAY = date(2026, 11, 25)
SLOW = Context(Planner(TABLES), DAY)
QUICK = Context(ManyPlans(TABLES), DAY)

ANSWERS = st.fixed_dictionaries(
    {
        "district": st.sampled_from(sorted(TABLES.districts)),
        "crop": st.sampled_from(["tomato", "onion", "banana", "coffee", "grape"]),
        "weeks_since_planting": st.integers(0, 30),
        "tank_volume_l": st.sampled_from([200, 500, 1000]),
        "stand_height_m": st.sampled_from([0.5, 1.0, 2.0]),
        "laid": st.just("told"),
        "laid_lines": st.integers(1, 16),
        "laid_line_length_m": st.integers(5, 30),
    },
    optional={
        "main_pipe": st.sampled_from(["20", "32", "unreadable"]),
        "laid_sides": st.sampled_from([1, 2]),
        "laid_blocks": st.integers(1, 3),
        "soil": st.sampled_from(["sand", "clay"]),
        "rise_along_length_m": st.sampled_from([-0.3, 0.3]),
    },
)


def unpriced(layout: Layout) -> Layout:
    return layout.model_copy(update={"parts_cost": None})


def compared(answers: dict[str, Any]) -> None:
    slow, quick = crop_waters(answers, SLOW)[0], crop_waters(answers, QUICK)[0]
    # What the parts cost is left out with the parts list.
    assert unpriced(quick.layout) == unpriced(slow.layout)
    assert quick.case == slow.case
    today = today_of(slow, answers, SLOW)
    assert today_of(quick, answers, QUICK) == today
    litres = today.gross_litres
    assert quick.minutes_for_litres(litres) == slow.minutes_for_litres(litres)
    show = registry().shows["water_today"]
    assert show(answers, QUICK) == show(answers, SLOW)


@given(ANSWERS)
def test_a_plot_that_lies(answers: dict[str, Any]) -> None:
    compared(answers)


def test_a_plot_that_lies_and_was_measured() -> None:
    plot = {
        "district": "kotsindo", "crop": "tomato", "weeks_since_planting": 8, "tank_volume_l": 500,
        "stand_height_m": 1.5, "laid": "told", "laid_lines": 10, "laid_line_length_m": 20,
    }  # fmt: skip
    measured = {"plot": "10x20/500/1.5", "day": "2026-10-01", "by": "minutes", "minutes": 70}
    compared({**plot, "measurements": [measured]})
    plain, told = (crop_waters({**plot, "measurements": m}, QUICK)[0] for m in ([], [measured]))
    # What was measured counts: the layout of the same lines is another one.
    assert told.layout.empty_minutes != plain.layout.empty_minutes


def test_a_plot_that_was_only_planned(planted: dict[str, Any]) -> None:
    compared(planted)
    plans = [context.plan(planted) for context in (QUICK, SLOW)]
    assert plans[0] == plans[1]


def test_plots_that_are_alike_share_their_layout(laid: dict[str, object]) -> None:
    plans = ManyPlans(TABLES)
    context = replace(QUICK, planner=plans)
    one = context.plan({**laid, "crop": "onion"})
    other = context.plan({**laid, "weeks_since_planting": 3, "district": "velmora"})
    assert one is other


def test_only_so_many_layouts_are_kept(laid: dict[str, object]) -> None:
    plans = ManyPlans(TABLES, kept=2)
    context = replace(QUICK, planner=plans)
    first = context.plan({**laid, "laid_lines": 5})
    for lines in (6, 7):
        context.plan({**laid, "laid_lines": lines})
    again = context.plan({**laid, "laid_lines": 5})
    assert again is not first
    assert again == first


def test_a_card_that_cannot_be_is_refused_alike(laid: dict[str, object]) -> None:
    for context in (SLOW, QUICK):
        with pytest.raises(CardError):
            context.plan({**laid, "laid_line_length_m": 0.05})
