"""The card of a plot that lies already, and the measurements that are kept of it."""

from datetime import date

import pytest

from service.advice.answers import card_from_answers, plain_card
from service.advice.context import Context, Planner
from service.advice.myplot_card import (
    KEPT_RECORDS,
    TOLD,
    as_laid,
    cups_record,
    is_laid,
    laid_fields,
    measured_card,
    minutes_record,
    plot_mark,
    records,
    with_record,
)
from service.advice.myplot_screens import enrolled, plot_is_planned
from service.errors import CardError
from service.sizing.calibration import Calibration, Contradiction, Cup
from service.sizing.field_check import cups_of, expected_ml, reckoned_flows, samplings
from service.sizing.laid import laid_candidate

TODAY = date(2026, 11, 25)
TOLD_PLOT = {
    "laid": TOLD,
    "laid_lines": 12,
    "laid_line_length_m": 20,
    "tank_volume_l": 500,
    "stand_height_m": 1.5,
    "crop": "tomato",
    "weeks_since_planting": 3,
}


@pytest.fixture
def context(tables):
    return Context(Planner(tables), TODAY)


def test_told_lines_fix_the_layout():
    assert laid_fields(TOLD_PLOT) == {
        "layout": {"tank_position": "corner", "lines_run": "length", "blocks": 1},
        "line_spacing_m": 1.0,
    }


def test_there_are_no_more_blocks_than_lines():
    two = {**TOLD_PLOT, "laid_lines": 2, "laid_blocks": 4}
    assert laid_fields(two)["layout"]["blocks"] == 2


@pytest.mark.parametrize("missing", ["laid_lines", "laid_line_length_m", "tank_volume_l"])
def test_a_plot_told_by_half_is_not_laid_yet(missing):
    half = {name: value for name, value in TOLD_PLOT.items() if name != missing}
    assert not is_laid(half)
    assert as_laid(half) == half
    assert laid_fields(half) == {}


def test_a_planned_plot_keeps_its_card(tables):
    answers = {
        "plot_length_m": 20,
        "plot_width_m": 15,
        "tank_volume_l": 500,
        "stand_height_m": 1.5,
        "laid": "no",
        "measurements": [{"plot": "x", "by": "minutes", "minutes": 10, "day": "2026-01-01"}],
    }
    card = plain_card(answers, tables.pipes, TODAY)
    assert measured_card(card, answers, tables.pipes) is card


def test_the_main_pipe_does_not_change_with_the_calibration(tables):
    record = minutes_record({**TOLD_PLOT, "laid_minutes": 110}, TODAY)
    cards = [
        card_from_answers({**TOLD_PLOT, "measurements": kept}, tables.pipes, TODAY)
        for kept in ([], [record])
    ]
    assert cards[0].submain == cards[1].submain
    assert cards[0].dripline.calibration == 1.0
    assert cards[1].dripline.calibration < 0.8


def test_the_newest_measurement_decides(tables):
    old, new = (
        {**minutes_record({**TOLD_PLOT, "laid_minutes": minutes}, TODAY), "day": day}
        for minutes, day in ((110, "2026-01-01"), (80, "2026-09-01"))
    )
    kept = {**TOLD_PLOT, "measurements": [old, new]}
    calibration = card_from_answers(kept, tables.pipes, TODAY).dripline.calibration
    assert calibration == pytest.approx(1.0, abs=0.05)


@pytest.mark.parametrize(
    "broken",
    [
        {"by": "minutes"},
        {"by": "minutes", "minutes": 0},
        {"by": "cups", "minutes": 6, "level_m": 1, "cups": [[99, 1, 50]] * 9},
        {"by": "cups", "minutes": 6, "level_m": 1, "cups": "all"},
        {"by": "a guess"},
        {},
    ],
)
def test_a_record_that_cannot_be_read_is_passed_over(tables, broken):
    kept = {**TOLD_PLOT, "measurements": [{"plot": plot_mark(TOLD_PLOT), **broken}]}
    assert card_from_answers(kept, tables.pipes, TODAY).dripline.calibration == 1.0


def test_measurements_stay_with_their_plot():
    record = minutes_record({**TOLD_PLOT, "laid_minutes": 80}, TODAY)
    kept = {**TOLD_PLOT, "measurements": with_record(TOLD_PLOT, record)}
    assert records(kept) == (record,)
    assert records({**kept, "laid_lines": 13}) == ()
    # More told of the same plot leaves it the same plot.
    assert records({**kept, "laid_sides": 2, "laid_spacing_m": 0.8, "soil": "clay"}) == (record,)


def test_one_record_a_day_and_not_for_ever():
    kept = dict(TOLD_PLOT)
    for day in range(1, 20):
        record = minutes_record({**kept, "laid_minutes": day}, date(2026, 1, day))
        kept["measurements"] = with_record(kept, record)
    again = minutes_record({**kept, "laid_minutes": 77}, date(2026, 1, 19))
    kept["measurements"] = with_record(kept, again)
    assert len(kept["measurements"]) == KEPT_RECORDS
    assert [each["minutes"] for each in kept["measurements"][-2:]] == [18, 77]


# --- a field officer's handover record ------------------------------------------------------------


def test_a_handover_with_its_minutes_calibrates(context):
    found = enrolled({**TOLD_PLOT, "laid": None, "laid_minutes": 95}, None, context)
    (said,) = found.found
    assert isinstance(said, Calibration)
    assert context.card(found.answers).dripline.calibration == pytest.approx(said.factor, abs=1e-3)


def test_a_handover_with_a_cup_test_calibrates_by_the_cups(context, tables):
    """Cups as drippers give them that reach 0.88 of their print."""
    card = plain_card(TOLD_PLOT, tables.pipes, TODAY)
    true = card.model_copy(
        update={"dripline": card.dripline.model_copy(update={"calibration": 0.88})}
    )
    one = laid_candidate(true, tables.pipes)
    (sampling,) = [each for each in samplings(one) if each.cups == 16]
    volumes = [expected_ml(flow, 6) for flow in reckoned_flows(one, sampling, 0.9)]
    cups = cups_record(TOLD_PLOT, TODAY, cups_of(sampling, volumes), 6, 0.9)
    found = enrolled({**TOLD_PLOT, "laid_minutes": 95}, cups, context)
    assert len(found.found) == 2
    assert len(found.answers["measurements"]) == 2
    assert context.card(found.answers).dripline.calibration == pytest.approx(0.88, abs=0.01)


def test_a_contradiction_in_a_handover_is_reported_and_not_kept(context):
    found = enrolled({**TOLD_PLOT, "laid_minutes": 10}, None, context)
    (said,) = found.found
    assert isinstance(said, Contradiction)
    assert said.causes[0] == "leak"
    assert "measurements" not in found.answers


def test_a_handover_without_any_measurement_still_enrols(context):
    found = enrolled({**TOLD_PLOT, "laid_minutes": 0}, None, context)
    assert found.found == ()
    assert is_laid(found.answers)


def test_a_handover_that_makes_no_plot_is_refused(context):
    with pytest.raises(CardError):
        enrolled({"laid_lines": 12}, None, context)


def test_a_cup_record_is_plain_json():
    kept = cups_record(TOLD_PLOT, TODAY, [Cup(1, 2, 50)], 6, 0.9123)
    assert kept["cups"] == [[1, 2, 50]]
    assert kept["level_m"] == 0.912


def test_a_plan_that_nobody_laid_is_planned(context):
    plan = {
        "plot_length_m": 20,
        "plot_width_m": 15,
        "crop": "tomato",
        "tank_volume_l": 500,
        "stand_height_m": 1.5,
    }
    assert plot_is_planned(plan, context)
    assert not plot_is_planned({**plan, "laid": TOLD}, context)
    assert not plot_is_planned({}, context)
