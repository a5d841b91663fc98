"""The calendar of a plot, the clogging classes behind it, and parts for a repair."""

from datetime import date, timedelta

import pytest

from service.errors import OutOfRange, TextFileError
from service.sizing.geometry import network_of
from service.sizing.laying import laying_of
from service.sizing.parts_rules import known_items
from service.sizing.sized import candidate
from service.sizing.upkeep import (
    CLOGGING_COLUMNS,
    REPAIRS,
    TASK_COLUMNS,
    TASKS,
    clogging_table,
    due_tasks,
    every_days,
    hazard_of_sign,
    intervals,
    read_clogging,
    read_intervals,
    repair_items,
)

TODAY = date(2026, 11, 25)


@pytest.fixture(autouse=True)
def afresh():
    """Each test reads the tables itself, not what an earlier one has kept."""
    clogging_table.cache_clear()
    intervals.cache_clear()


# --- water that clogs --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("parameter", "slight", "moderate", "severe"),
    [
        ("suspended solids", 49, 75, 101),
        ("pH", 6.9, 7.5, 8.1),
        ("dissolved solids", 499, 1000, 2001),
        ("manganese", 0.05, 1.0, 1.6),
        ("iron", 0.15, 1.0, 1.6),
        ("hydrogen sulphide", 0.4, 1.0, 2.1),
        ("bacteria", 9_999, 30_000, 50_001),
        ("hardness", 149, 200, 301),
    ],
)
def test_classes_of_the_clogging_table(parameter, slight, moderate, severe):
    """
    Bucks, Nakayama and Gilbert 1979, Agricultural Water Management 2: 149-162, and for hardness
    extension practice: limits from memory, not verified; 50 and 100 mg/L of solids read elsewhere.
    """
    row = next(row for row in clogging_table() if row.parameter == parameter)
    assert [row.hazard(value) for value in (slight, moderate, severe)] == [
        "slight",
        "moderate",
        "severe",
    ]


def test_each_limit_is_still_moderate_and_none_in_the_water_is_slight():
    """Bucks and others: below the first limit slight, above the second severe; 0 is measured."""
    iron = next(row for row in clogging_table() if row.parameter == "iron")
    assert [iron.hazard(value) for value in (0, 0.2, 1.5)] == ["slight", "moderate", "moderate"]


@pytest.mark.parametrize("sign", ["brown", "eggs", "crust", "green", "cloudy"])
def test_every_sign_that_people_see_is_at_least_moderate(sign):
    assert hazard_of_sign(sign) == "moderate"


@pytest.mark.parametrize("sign", ["none", "", "tastes odd"])
def test_water_without_a_sign_of_the_table_is_slight(sign):
    assert hazard_of_sign(sign) == "slight"


@pytest.mark.parametrize("value", [-1, float("nan")])
def test_no_class_for_a_value_that_cannot_be(value):
    with pytest.raises(OutOfRange, match="iron"):
        next(row for row in clogging_table() if row.parameter == "iron").hazard(value)


# --- the calendar ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("task", "sign", "open_water", "days"),
    [
        ("filter", "none", False, 7),
        ("filter", "none", True, 1),
        ("filter", "green", False, 1),
        ("filter", "crust", False, 7),
        ("walk", "none", True, 7),
        ("lines", "none", False, 15),
        ("lines", "none", True, 15),
        ("lines", "brown", False, 7),
        ("lines", "cloudy", True, 7),
        ("tank", "none", False, 30),
        ("tank", "green", False, 15),
    ],
)
def test_how_often_by_what_the_water_shows(task, sign, open_water, days):
    """Filter daily on open water and weekly on clear, lines 15 days, tank monthly: practice."""
    assert every_days(task, sign, open_water=open_water) == days


def test_on_a_plot_where_nothing_was_done_all_is_due_in_the_order_of_the_calendar():
    assert [(due.task, due.in_days) for due in due_tasks({}, TODAY)] == [(t, 0) for t in TASKS]


def test_what_was_done_comes_round_again():
    done = dict.fromkeys(TASKS, TODAY)
    later = due_tasks(done, TODAY + timedelta(days=7))
    assert [(due.task, due.in_days) for due in later] == [
        ("filter", 0),
        ("walk", 0),
        ("lines", 8),
        ("tank", 23),
    ]


def test_the_most_overdue_comes_first():
    done = dict.fromkeys(TASKS, TODAY) | {"lines": TODAY - timedelta(days=40)}
    first = due_tasks(done, TODAY)[0]
    assert (first.task, first.in_days) == ("lines", -25)


def test_a_day_in_the_future_counts_as_today():
    done = dict.fromkeys(TASKS, TODAY + timedelta(days=400))
    assert {due.in_days for due in due_tasks(done, TODAY)} == {7, 15, 30}


def test_what_the_water_shows_and_where_it_comes_from_bring_the_day_nearer():
    """Open water: the filter daily. Green: that, and the tank in 15 days for 30, lines in 7."""
    done = dict.fromkeys(TASKS, TODAY)

    def days(*sign, **source):
        return {due.task: due.in_days for due in due_tasks(done, TODAY, *sign, **source)}

    clear = {"filter": 7, "walk": 7, "lines": 15, "tank": 30}
    assert days() == clear == {task: every_days(task) for task in TASKS}
    assert days(open_water=True) == clear | {"filter": 1}
    assert days("green") == clear | {"filter": 1, "lines": 7, "tank": 15}


TASK_ROW = ",".join(TASK_COLUMNS) + "\nfilter,usual,7,a source,a status\n"
CLOGGING_ROW = ",".join(CLOGGING_COLUMNS) + "\niron,mg/L,0.2,1.5,brown,0.3,a source,a status\n"


@pytest.mark.parametrize(
    ("read", "wrong", "message"),
    [
        (read_intervals, TASK_ROW.replace("filter", "fence"), "task must be one of"),
        (read_intervals, TASK_ROW.replace(",7,", ",0,"), "every_days: 0 is outside"),
        (read_intervals, TASK_ROW.replace("a status", ""), "status is empty"),
        (read_clogging, CLOGGING_ROW.replace("0.2,1.5", "1.5,0.2"), "severe_from: 0.2 is outside"),
        (read_clogging, CLOGGING_ROW.replace("0.3", ""), "belong together"),
        (read_clogging, CLOGGING_ROW.replace("a source", ""), "source is empty"),
    ],
)
def test_a_row_that_cannot_be_used_is_named_by_its_line(read, wrong, message):
    with pytest.raises(TextFileError, match=f"table.csv:2: .*{message}"):
        read(wrong, "table.csv")


# --- repairs -----------------------------------------------------------------------------------


@pytest.fixture
def laid(plot_card, pipes):
    def laid(**fields):
        card = plot_card(**{"line_spacing_m": 1, **fields})
        layout = candidate(card, network_of(card, "corner", "length", 0.0218), 1).layout()
        return laying_of(card, layout, pipes)

    return laid


@pytest.mark.parametrize("what", REPAIRS)
@pytest.mark.parametrize("bore", [13.6, 16.0, 22.2])
def test_every_repair_takes_parts_that_the_shop_list_knows(laid, what, bore):
    laying = laid(**{"dripline.inner_diameter_mm": bore})
    items = repair_items(laying, what)
    assert items
    assert {item for item, _ in items} <= known_items()
    assert all(count > 0 for _, count in items)


def test_what_each_repair_of_a_plot_with_dripline_takes(laid):
    """
    One part for one fault, but a missing piece has two ends to join; a valve is screwed in anew.
    The fixture's pipe of bore 21.8 mm is 25 mm outside and takes the 3/4 inch thread, dn20.
    """
    assert {what: repair_items(laid(), what) for what in REPAIRS} == {
        "cut": (("line_joiner_16", 1),),
        "piece": (("line_joiner_16", 2),),
        "end": (("line_end_16", 1),),
        "tap": (("take_off_16", 1),),
        "main": (("pipe_joiner_25", 1),),
        "filter": (("screen_filter_dn20", 1),),
        "valve": (("valve_dn20", 1), ("thread_tape", 1)),
        "hole": (("goof_plug", 1),),
    }


def test_tape_is_mended_with_parts_for_tape(laid, pipes):
    tape = next(pipe for pipe in pipes if pipe.use == "tape" and pipe.outer_mm == 22)
    laying = laid(**{"dripline.inner_diameter_mm": tape.bore_mm})
    assert repair_items(laying, "end") == (("tape_end_22", 1),)
    assert repair_items(laying, "tap") == (("tape_take_off_22", 1),)
