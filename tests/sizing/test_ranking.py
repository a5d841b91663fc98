"""What decides between layouts: parts counted by hand, and the hours of a day."""

import pytest

from service.sizing.geometry import network_of
from service.sizing.ranking import Rated, parts_measure
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
