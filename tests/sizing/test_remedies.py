"""Which changes are tried, which of them count as a help, and in which order they are told."""

from itertools import pairwise

import pytest

from service.sizing.layouts import size_layouts

CORNER = {"tank_position": "corner", "lines_run": "length", "blocks": 1}


@pytest.fixture(name="sized")
def _sized(plot_card, pipes):
    return lambda fields: size_layouts(plot_card(**fields), pipes)


def _of(remedies, change, how=""):
    return [one for one in remedies if one.change == change and one.how == how]


def _evenness(sized):
    return sized.layouts[0].full_tank.emission_uniformity_pct


UPHILL = {
    "plot.length_m": 25,
    "plot.slope_length_pct": 4,
    "stand_height_m": 1,
    "submain.inner_diameter_mm": 13.6,
    "layout": CORNER,
}
"""83 emitters a line, so starved that nothing alone is enough."""


def test_where_nothing_is_enough_all_that_helps_is_told(sized):
    """Two sizes of pipe, two to four blocks, lines from the middle, lines of half the emitters
    (41 of 83, every 0.3 m) and stands half a metre and a metre higher."""
    found = sized(UPHILL).remedies
    assert not any(one.meets_goal for one in found)
    values = {
        key: sorted(one.value for one in _of(found, *key))
        for key in {(one.change, one.how) for one in found}
    }
    assert values == {
        ("wider_submain", ""): pytest.approx([17.4, 21.8]),
        ("more_blocks", ""): [2, 3, 4],
        ("shorter_lines", "fed_from_middle"): pytest.approx([12.5]),
        ("shorter_lines", "cut"): pytest.approx([41 * 0.3]),
        ("higher_stand", ""): [1.5, 2.0],
    }
    # Here neighbours are a tenth of a point apart and more: the order is that of their effect.
    gains = [one.emission_uniformity_pct for one in found if one.change != "higher_stand"]
    assert min(a - b for a, b in pairwise(gains)) > 0.1


def test_wider_pipe_starts_above_the_present_one(sized):
    fields = {"plot.length_m": 10, "plot.width_m": 80, "stand_height_m": 1, "layout": CORNER}
    found = _of(sized(fields | {"submain.inner_diameter_mm": 17.4}).remedies, "wider_submain")
    assert sorted(one.value for one in found) == pytest.approx([21.8, 28.2])


def test_wider_pipe_takes_the_place_of_a_second_narrower_bore(sized):
    """17.4 mm with 13.6 mm from the 5th tap on, against 21.8 mm all the way."""
    fields = {"plot.length_m": 40, "stand_height_m": 1, "layout": CORNER}
    second = {"inner_diameter_mm": 13.6, "from_tap": 5}
    now = {"submain": {"inner_diameter_mm": 17.4, "second": second}}
    wider = _of(sized(fields | now).remedies, "wider_submain")
    laid = sized(fields | {"submain.inner_diameter_mm": 21.8})
    assert wider[0].value == pytest.approx(21.8)
    assert wider[0].emission_uniformity_pct == pytest.approx(_evenness(laid), rel=1e-4)


def test_a_stand_comes_last_and_is_told_even_where_it_does_nothing(sized):
    """On level ground, half a metre more gives not half a point; wider pipe gives ten and more."""
    fields = {"plot.length_m": 40, "stand_height_m": 1, "submain.inner_diameter_mm": 13.6}
    level = sized(fields | {"layout": CORNER})
    stands = _of(level.remedies, "higher_stand")
    assert {one.value for one in stands} == {1.5, 2.0}
    assert min(one.emission_uniformity_pct for one in stands) < _evenness(level) + 0.5


def test_a_change_that_gives_less_than_half_a_point_is_no_help(sized):
    """A submain that climbs 4 % through 21.8 mm pipe: the ground takes the head, not the pipe."""
    fields = {
        "plot.length_m": 9,
        "plot.slope_width_pct": 4,
        "stand_height_m": 1,
        "submain.inner_diameter_mm": 21.8,
        "layout": CORNER,
    }
    now = sized(fields)
    assert {one.change for one in now.remedies} == {"more_blocks", "higher_stand"}
    for bore in (28.2, 35.4):
        wider = sized(fields | {"submain.inner_diameter_mm": bore})
        assert not wider.layouts[0].meets_goal
        assert _evenness(wider) < _evenness(now) + 0.5


def test_the_most_effective_first_equal_ones_by_what_they_take_and_the_stand_last(sized):
    """Three and four blocks differ by less than is printed: three come first. A stand a metre
    higher does more than all else and comes last all the same."""
    found = sized(
        {
            "plot.length_m": 10,
            "plot.width_m": 30,
            "plot.slope_width_pct": 4,
            "stand_height_m": 2,
            "submain.inner_diameter_mm": 21.8,
            "layout": CORNER | {"lines_run": "width"},
        }
    ).remedies
    blocks = {one.value: one for one in _of(found, "more_blocks")}
    three, four = blocks[3], blocks[4]
    assert four.emission_uniformity_pct - three.emission_uniformity_pct > 0.01
    assert round(four.emission_uniformity_pct, 1) == round(three.emission_uniformity_pct, 1)
    assert found.index(three) < found.index(four)
    *others, much, little = found
    assert much.change == little.change == "higher_stand"
    assert much.emission_uniformity_pct > max(one.emission_uniformity_pct for one in others)


def test_lines_are_cut_to_the_longest_that_are_even(sized):
    """Lines by the width, from the middle of a side: 10 emitters to either side of the submain.

    A plot cut to lines of n emitters is 2 n times 0.3 m wide. The longest that is even enough is
    told, and one more emitter is too many.
    """
    fields = {
        "plot.length_m": 30,
        "plot.width_m": 6,
        "plot.slope_width_pct": 8,
        "stand_height_m": 0.5,
        "submain.inner_diameter_mm": 13.6,
        "dripline.emitter_flow_lph": 2,
        "layout": {"tank_position": "mid_side", "lines_run": "width", "blocks": 1},
    }
    found = sized(fields).remedies
    # They are fed from their middle already.
    assert not _of(found, "shorter_lines", "fed_from_middle")
    (cut,) = _of(found, "shorter_lines", "cut")
    emitters = round(cut.value / 0.3)
    assert cut.value == pytest.approx(emitters * 0.3)
    enough, too_long = (
        sized(fields | {"plot.width_m": 2 * count * 0.3}).layouts[0]
        for count in (emitters, emitters + 1)
    )
    assert enough.meets_goal
    assert cut.min_flow_lph == pytest.approx(enough.full_tank.min_flow_lph, rel=1e-4)
    assert not too_long.meets_goal
    assert too_long.emitters_per_line < 10
