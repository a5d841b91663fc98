"""What decides between layouts: parts counted by hand, and the hours of a day."""

import pytest

from service.sizing.geometry import Lines, network_of
from service.sizing.ranking import (
    MOST_BLOCKS,
    Rated,
    best_of,
    bores_for,
    groups,
    parts_measure,
    rater,
)
from service.sizing.sized import candidate


def test_parts_are_counted_as_metres_of_dripline(plot_card):
    """A metre of pipe counts by its bore over the dripline's, a fitting for 1 m, a valve for 5 m.

    20 x 20 m, lines 1 m apart: from the corner 20 lines of 20 m, the last tap at 19.5 m; from the
    middle of a side 40 lines of 10 m. Every line has two fittings, and the pipe comes down a
    stand of 2.5 m.
    """
    pipe = (19.5 + 2.5) * 21.8 / 13.6
    for position, blocks, lines in (
        ("corner", 3, 20 * (20 + 2)),
        ("mid_side", 1, 40 * (10 + 2)),
    ):
        one = candidate(plot_card(), network_of(plot_card(), position, "length", 0.0218), blocks)
        assert parts_measure(one) == pytest.approx(pipe + lines + blocks * 5)


def test_what_suffices_is_chosen_by_its_parts_and_not_by_its_evenness(plot_card):
    """88 % with a 13.6 mm pipe and one valve is enough; wider pipes give up to 93 %."""
    rated = [
        Rated(
            candidate(plot_card(), network_of(plot_card(), "corner", "length", bore), blocks),
            None,
            None,
            12,
        )
        for bore in (0.0282, 0.0218, 0.0174, 0.0136)
        for blocks in (3, 2, 1)
    ]
    assert all(one.meets for one in rated)
    best = best_of(rated)
    assert best is rated[-1]
    assert best.evenness < max(one.evenness for one in rated) - 2


@pytest.fixture
def low_stand(plot_card):
    """A plot for which a thin pipe with two valves does, and a wider one with a single valve."""
    return plot_card(
        **{"plot.length_m": 40, "stand_height_m": 1.0},
        layout={"tank_position": "corner", "lines_run": "length"},
    )


def priced(pipe, valve):
    """What rates by prices that grow with bore and with valves."""
    return rater(None, lambda one: pipe * one.submain_inner_diameter_mm + valve * one.blocks, 12)


@pytest.mark.parametrize("valve", [0.01, 1.0, 30.0])
@pytest.mark.parametrize("pipe", [0.01, 0.3, 3.0])
def test_nothing_cheaper_is_left_out(low_stand, pipes, valve, pipe):
    """Against all bores and numbers of blocks."""
    rate = priced(pipe, valve)
    (tried,) = groups(low_stand, pipes, Lines(3.0), rate)
    every = [
        rate(candidate(low_stand, network_of(low_stand, "corner", "length", bore), blocks))
        for bore in bores_for(low_stand, pipes)
        for blocks in range(1, MOST_BLOCKS + 1)
    ]
    assert best_of(tried).measure == best_of(every).measure
    assert len(tried) < len(every)


def test_the_cheaper_way_may_be_a_valve_or_a_wider_pipe(low_stand, pipes):
    def best(pipe, valve):
        (tried,) = groups(low_stand, pipes, Lines(3.0), priced(pipe, valve))
        return best_of(tried).candidate

    dear_valve, dear_pipe = best(0.01, 30.0), best(3.0, 0.01)
    assert len(dear_valve.blocks) == 1 < len(dear_pipe.blocks)
    assert dear_valve.network.bore > dear_pipe.network.bore


def test_peak_water_is_timed_exactly_where_full_and_low_tank_disagree(plot_card):
    """The hours decide to the minute: just enough of them suffice, a minute less does not.

    The tank's flow falls while it drains, so that a full tank alone would promise too much and a
    low one too little.
    """
    one = candidate(plot_card(), network_of(plot_card(), "corner", "length", 0.0218), 2)
    minutes = one.minutes_for_litres(900)
    least, most = one.minutes_bounds(900)
    assert least < minutes - 1
    assert minutes + 1 < most
    assert Rated(one, 900, None, minutes / 60).in_hours
    assert not Rated(one, 900, None, (minutes - 1) / 60).in_hours
