"""What installing says, against the plan that it is about."""

from datetime import date

import pytest

from service.advice import Context, plan
from service.advice.install_words import CUP_MINUTES, slack, two_cups
from service.advice.rounding import two_figures
from service.advice.upkeep_plot import known_plot, nothing_grows, plot_pipes
from service.advice.upkeep_words import ends_in_words, speed_in_words
from service.sizing.plain import plain_english

DAY = date(2026, 11, 25)
PLANNED = {
    "plot_length_m": 20.0,
    "plot_width_m": 20.0,
    "crop": "tomato",
    "weeks_since_planting": 8,
    "tank_volume_l": 500.0,
    "stand_height_m": 2.5,
}


@pytest.fixture
def context(planner):
    return Context(planner, DAY)


def test_two_cups_show_what_the_plans_emitters_give(context):
    """The plan's own flows, emitter by emitter, through another way in (`with_emitters`)."""
    plot = plot_pipes(PLANNED, context)
    whole = plan(plot.card, context.tables, today=DAY, with_emitters=True)
    flows = whole.layouts[whole.recommended].emitter_flow_lph
    words = plain_english(two_cups(plot)[0])
    for flow in (flows[0][0], flows[-1][-1]):
        assert f"about {two_figures(flow / 60 * CUP_MINUTES * 1000):g} mL" in words


@pytest.mark.parametrize(("length", "cm"), [(5, 5), (20, 20), (40, 35)])
def test_slack_is_told_in_steps_of_five_centimetres_rounded_up(context, length, cm):
    plot = plot_pipes({**PLANNED, "plot_length_m": length, "plot_width_m": 5.0}, context)
    assert plot.layout.line_length_m == length
    assert f"about {cm} cm" in plain_english(slack(plot)[0])


def test_calibrated_drippers_change_what_the_cups_show(context):
    """A timed emptying that took longer than reckoned: less water in each cup."""
    laid = {
        "laid": "told",
        "laid_lines": 15,
        "laid_line_length_m": 20,
        "crop": "tomato",
        "weeks_since_planting": 5,
        "tank_volume_l": 500,
        "stand_height_m": 1.5,
    }
    slow = {
        **laid,
        "measurements": [
            {"plot": "15x20/500/1.5", "day": "2026-11-01", "by": "minutes", "minutes": 90}
        ],
    }
    as_printed = plot_pipes(laid, context).one.emitter_flows()[0][0]
    measured = plot_pipes(slow, context).one.emitter_flows()[0][0]
    assert measured < 0.85 * as_printed


def test_far_ends_that_no_water_reaches_are_said_to(context):
    dry = {
        **PLANNED,
        "stand_height_m": 0.0,
        "rise_along_length_m": 3.0,
        "rise_along_width_m": 3.0,
    }
    plot = known_plot(dry, context)
    assert plot is not None
    assert "No water reaches" in plain_english(speed_in_words(plot)[0])
    assert "2 minutes" in plain_english(ends_in_words(plot)[0])


def test_without_a_plot_there_are_no_pipes(context):
    assert known_plot({}, context) is None
    assert not nothing_grows({}, context)
