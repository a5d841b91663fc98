"""Counts at their edges: spares, joints and thread tape reckoned by hand, and how they are said."""

from dataclasses import replace

import pytest

from service.sizing.parts import Laying, part_counts, part_note
from service.sizing.plain import plain_english
from service.sizing.result import PartLine

PLAIN = Laying(25, 16, "dn20", False, 23.1, 20, 20.0, (25,), (25,))


def bought(**changes):
    """Quantity and spares of each part of a laying that is `PLAIN` but for some values."""
    return {one.item: (one.quantity, one.spare) for one in part_counts(replace(PLAIN, **changes))}


@pytest.mark.parametrize(
    ("lines", "spare"),
    [(1, 2), (40, 2), (41, 3), (60, 3), (61, 4), (100, 5), (101, 6)],
)
def test_a_twentieth_is_spare_rounded_up_but_at_least_two(lines, spare):
    found = bought(line_count=lines)
    assert found["take_off_16"] == found["line_end_16"] == (lines + spare, spare)
    assert found["goof_plug"] == (spare, spare)


@pytest.mark.parametrize(("pipe_m", "joiners"), [(100.0, (1, 1)), (100.1, (2, 1)), (200.1, (3, 1))])
def test_every_coil_but_the_first_wants_a_joiner_and_one_is_spare(pipe_m, joiners):
    """100 m are one coil; a little more takes 25 m beside it; 200.1 m are 100 + 100 + 25."""
    assert bought(pipe_m=pipe_m)["pipe_joiner_25"] == joiners


def test_lines_longer_than_any_coil_are_joined():
    """3 x 500.5 = 1501.5 m come from four coils of 400 m: three joints, and two spare."""
    found = bought(line_count=3, line_length_m=500.0)
    assert found["dripline_16"] == (1600, 0)
    assert found["line_joiner_16"] == (5, 2)


@pytest.mark.parametrize(
    ("blocks", "filtered", "rolls"),
    [(1, True, 1), (3, True, 1), (4, True, 2), (3, False, 1), (4, False, 2), (8, True, 2)],
)
def test_a_roll_of_thread_tape_wraps_ten_threads(blocks, filtered, rolls):
    """Four threads at the tank, three without a filter; two at each block's valve, if blocks."""
    ends = (25,) * blocks
    assert bought(starts=ends, ends=ends, filter=filtered)["thread_tape"] == (rolls, 0)


@pytest.mark.parametrize(
    ("blocks", "filtered", "threads"),
    [(1, True, 4), (1, False, 3), (2, True, 8), (2, False, 7), (3, False, 9)],
)
def test_threads_are_counted_one_by_one(monkeypatch, blocks, filtered, threads):
    """With a roll for each thread; 33 lines, since counts are kept and no other test asks them."""
    monkeypatch.setattr("service.sizing.parts.THREADS_A_ROLL", 1)
    ends = (25,) * blocks
    found = bought(line_count=33, starts=ends, ends=ends, filter=filtered)
    assert found["thread_tape"] == (threads, 0)


@pytest.mark.parametrize(
    ("row", "note"),
    [
        ({"quantity": 1, "spare": 1}, "spare"),
        ({"quantity": 2, "spare": 1}, "1 is spare"),
        ({"quantity": 22, "spare": 2}, "2 are spare"),
        (
            {
                "quantity": 900,
                "needed_m": 810.26,
                "coils": [
                    {"length_m": 400, "count": 2, "lines_each": 19},
                    {"length_m": 100, "count": 1, "lines_each": 4},
                ],
            },
            "2 coils of 400 m (lines from each: 19), 1 coil of 100 m (lines from it: 4); "
            "810.3 m used, 89.7 m left",
        ),
        (
            {
                "quantity": 200,
                "needed_m": 180.0,
                "coils": [{"length_m": 100, "count": 2, "lines_each": 0}],
            },
            "2 coils of 100 m; 180 m used, 20 m left",
        ),
    ],
)
def test_one_and_several_are_said_as_such(row, note):
    line = PartLine.model_validate({"item": "x", "name": "x", "unit": "m"} | row)
    assert plain_english(part_note(line)) == note
