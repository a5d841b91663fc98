"""Minutes of open valve over blocks and tanks in turn, and the bounds of them, by hand."""

import math

import pytest

from service.sizing.emptying import Emptying
from service.sizing.geometry import network_of
from service.sizing.sized import candidate, minutes_in_turn
from service.sizing.tank import TankBody

CUBE = TankBody("upright", 1.0, 1.0, 0.25)
"""1 m x 1 m x 1 m: a litre given lowers the water by a millimetre; 750 L to the outlet."""


def _root_flow(factor):
    """Flow of an orifice: from level a down to b takes 2 / factor * (sqrt a - sqrt b) seconds."""
    return Emptying(lambda level: factor * math.sqrt(level), CUBE, "outlet", 0.25, "a cube")


def test_blocks_in_turn_go_on_from_the_level_that_is_left():
    """Three blocks with one, one and two shares of 1200 L; the tank gives 750 L a fill.

    The first takes the level from 1 to 0.7 m, the second from 0.7 to 0.4 m, the third from 0.4 m
    to the outlet at 0.25 m and, after filling, from 1 to 0.55 m. The second gives half the flow
    of the others, so that it matters at which level its turn comes.
    """
    fast, slow = _root_flow(2 / 7200), _root_flow(1 / 7200)
    # 2 / factor is 7200 s or 120 min for the fast ones, 240 min for the slow one.
    first = 120 * (1 - math.sqrt(0.7))
    second = 240 * (math.sqrt(0.7) - math.sqrt(0.4))
    third = 120 * (math.sqrt(0.4) - 0.5) + 120 * (1 - math.sqrt(0.55))
    minutes = minutes_in_turn([fast, slow, fast], [1, 1, 2], 1200)
    assert minutes == pytest.approx(first + second + third, rel=2e-3)


def test_no_water_due_takes_no_time_even_from_a_tank_that_gives_none():
    """After rain nothing is due: 0 minutes, not "the water stops"."""
    dead = Emptying(lambda level: 0.0, CUBE, "dry", 1.0, "a cube")
    assert minutes_in_turn([dead], [1], 0.0) == 0.0
    assert minutes_in_turn([dead], [1], 10.0) is None


def test_a_tank_that_is_fed_as_fast_as_it_drains_has_no_minutes(plot_card):
    """Also for exactly one fill, which leaves nothing over for a second round."""
    card = plot_card(**{"tank.inflow_lph": 5000})
    one = candidate(card, network_of(card, "corner", "length", 0.0218), 1)
    assert one.drains[0].stop == "inflow"
    assert one.minutes_for_litres(450) is None
    assert one.minutes_for_litres(200) is None


def test_minutes_lie_between_those_of_a_full_and_of_a_low_tank(plot_card):
    """Each of two equal blocks gives half of 600 L: at the flow of the exact network with the tank
    full, and with the water at the outlet (2.5 m of stand and 0.1 m)."""
    card = plot_card(**{"tank.outlet_height_m": 0.1})
    one = candidate(card, network_of(card, "corner", "length", 0.0218), 2)

    def minutes(surface):
        # 1 m3/s is 3 600 000 L/h.
        return sum(300 / (state.flow * 3.6e6) * 60 for state in one.states(surface))

    least, most = one.minutes_bounds(600)
    assert least == pytest.approx(minutes(None), rel=1e-3)
    assert most == pytest.approx(minutes(2.6), rel=1e-3)
    assert least < one.minutes_for_litres(600) < most


def test_bounds_say_nothing_where_the_level_does_not_just_fall_to_the_outlet(plot_card):
    """A tank that is fed gives longer at a high level. A tank on the ground
    below a plot that climbs 4 % ends its flow 2 cm above its base, the height of the first tap."""
    fed = plot_card(**{"tank.inflow_lph": 50})
    dry = plot_card(**{"stand_height_m": 0, "tank.outlet_height_m": 0, "plot.slope_width_pct": 4})
    for card, stop in ((fed, "outlet"), (dry, "dry")):
        one = candidate(card, network_of(card, "corner", "length", 0.0218), 1)
        assert one.drains[0].stop == stop
        assert one.minutes_bounds(100) == (0.0, math.inf)


def test_bounds_are_open_above_where_flow_ends_just_at_the_outlet(plot_card):
    """Level ground, emitters without a loss of their own, the outlet at the tank's base on the
    ground: at the outlet nothing flows any more, and no division by that nothing."""
    card = plot_card(**{"stand_height_m": 0, "tank.outlet_height_m": 0, "dripline.barb_loss_m": 0})
    one = candidate(card, network_of(card, "corner", "length", 0.0218), 1)
    assert one.drains[0].stop == "outlet"
    least, most = one.minutes_bounds(100)
    assert 0 < least < one.minutes_for_litres(100) < most == math.inf
