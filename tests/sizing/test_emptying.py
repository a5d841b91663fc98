import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.sizing.emptying import emptying
from service.sizing.geometry import network_of
from service.sizing.sized import candidate, minutes_in_turn
from service.sizing.tank import TankBody, tank_body


def root_flow(level):
    """Half a cubic metre an hour at 1 m."""
    return 0.5 / 3600 * math.sqrt(max(level, 0.0))


UPRIGHT = TankBody("upright", 0.5, 1.0, 0.1)


def test_water_below_the_outlet_is_never_delivered():
    found = emptying(root_flow, 0.0, UPRIGHT)
    assert found.delivered_litres == pytest.approx(450)
    seconds = 0.5 / (0.5 / 3600) * 2 * (1 - math.sqrt(0.1))
    assert found.empty_minutes == pytest.approx(seconds / 60, rel=1e-4)


def test_minutes_for_part_of_a_tank():
    found = emptying(root_flow, 0.0, UPRIGHT)
    seconds = 0.5 / (0.5 / 3600) * 2 * (1 - math.sqrt(0.5))
    assert found.minutes_at(250) == pytest.approx(seconds / 60, rel=2e-3)
    assert found.minutes_at(0) == 0
    assert found.minutes_at(451) is None


def test_flow_that_ends_above_the_outlet_never_empties_the_tank():
    found = emptying(lambda level: root_flow(level - 0.4), 0.4, UPRIGHT)
    assert found.stop == "dry"
    assert found.empty_minutes is None
    assert found.delivered_litres == pytest.approx(300, abs=0.6)


def test_flow_that_ends_above_the_full_tank_gives_nothing():
    found = emptying(lambda level: 0.0, 1.2, UPRIGHT)
    assert (found.empty_minutes, found.delivered_litres) == (None, 0.0)


def test_flow_that_ends_at_the_outlet_itself_does_empty_it():
    found = emptying(lambda level: root_flow(level - 0.1), 0.1, UPRIGHT)
    assert found.empty_minutes == pytest.approx(
        0.5 * 3600 / 0.5 * 2 * math.sqrt(0.9) / 60, rel=1e-3
    )


def test_tank_fed_while_it_drains():
    """600 L/h out against 300 L/h in: 450 L stored last 1.5 h and 900 L are given."""
    fed = TankBody("upright", 0.5, 1.0, 0.1, inflow=0.3 / 3600)
    found = emptying(lambda level: 0.6 / 3600, -1.0, fed)
    assert found.empty_minutes == pytest.approx(90, rel=1e-6)
    assert found.delivered_litres == pytest.approx(900, rel=1e-6)


def test_inflow_that_keeps_up_is_said():
    fed = TankBody("upright", 0.5, 1.0, 0.1, inflow=0.5 / 3600 * math.sqrt(0.5))
    found = emptying(root_flow, 0.0, fed)
    assert found.stop == "inflow"
    assert found.empty_minutes is None
    assert found.stop_level == pytest.approx(0.5, abs=0.002)
    assert found.delivered_litres == pytest.approx(450)


def test_inflow_above_all_that_can_run_out():
    fed = TankBody("upright", 0.5, 1.0, 0.1, inflow=1.0)
    assert emptying(root_flow, 0.0, fed).empty_minutes is None


def test_lying_drum_is_a_cylinder():
    drum = TankBody("lying", 0.2, 0.57, 0.05)
    assert drum.volume_at(0.57) == pytest.approx(0.2)
    assert drum.volume_at(0.285) == pytest.approx(0.1)
    steps = 20_000
    added = sum(drum.area((i + 0.5) * 0.57 / steps) for i in range(steps)) * 0.57 / steps
    assert added == pytest.approx(0.2, rel=1e-5)


def test_lying_drum_empties_by_its_own_area():
    """At a constant flow the time is the volume above the outlet over it, whatever the shape."""
    drum = TankBody("lying", 0.2, 0.57, 0.05)
    found = emptying(lambda level: 0.1 / 3600, -1.0, drum)
    assert found.delivered_litres == pytest.approx(1000 * drum.usable)
    assert found.empty_minutes == pytest.approx(drum.usable / 0.1 * 60, rel=2e-3)


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0.3, 1.5),
    st.floats(0.3, 1.0),
    st.floats(0.05, 0.25),
    st.sampled_from(["upright", "lying"]),
)
def test_volume_is_conserved(depth, exponent, outlet, shape):
    """What the emitters give, added up over time, is what the tank has lost."""
    tank = TankBody(shape, 0.4, depth, outlet)

    def flow(level):
        return 0.4 / 3600 * (level + 0.3) ** exponent

    found = emptying(flow, -0.3, tank)
    given_out, steps = 0.0, 0
    for (litres, minutes), (more, later) in zip(
        zip(found.litres, found.minutes, strict=True),
        zip(found.litres[1:], found.minutes[1:], strict=True),
        strict=False,
    ):
        assert more > litres
        assert later > minutes
        steps += 1
        # Mean flow of the step lies between the flows at its ends.
        rate = (more - litres) / (later - minutes) * 60
        assert 1000 * 3600 * flow(outlet) * 0.995 <= rate <= 1000 * 3600 * flow(depth) * 1.005
        given_out += rate * (later - minutes) / 60
    assert steps >= 8
    assert given_out == pytest.approx(1000 * tank.usable, rel=1e-9)


@pytest.fixture
def two_blocks(plot_card):
    card = plot_card()
    return candidate(card, network_of(card, "corner", "length", 0.0218), 2)


def test_minutes_of_blocks_in_turn(two_blocks):
    """Half the fill through one block, then half through the other, from the level left."""
    drains = two_blocks.drains
    half = drains[0].minutes_at(225) + drains[1].minutes[-1] - drains[1].minutes_at(225)
    assert two_blocks.minutes_for_litres(450) == pytest.approx(half, rel=1e-9)
    assert two_blocks.minutes_for_litres(0) == 0


def test_bounds_of_the_minutes_enclose_them(two_blocks):
    for litres in (50, 450, 1000):
        least, most = two_blocks.minutes_bounds(litres)
        assert least <= two_blocks.minutes_for_litres(litres) <= most


def test_more_litres_take_more_minutes(two_blocks):
    minutes = [two_blocks.minutes_for_litres(litres) for litres in (1, 100, 449, 450, 900, 1300)]
    assert minutes == sorted(minutes)


def test_whole_fills_take_whole_times(plot_card):
    one = candidate(plot_card(), network_of(plot_card(), "corner", "length", 0.0218), 1)
    empty = one.drains[0].empty_minutes
    assert one.minutes_for_litres(450 * 3) == pytest.approx(3 * empty, rel=1e-9)
    assert one.minutes_for_litres(450 * 2 + 100) == pytest.approx(
        2 * empty + one.drains[0].minutes_at(100), rel=1e-6
    )


def test_no_minutes_when_a_block_gives_nothing():
    dry = emptying(lambda level: 0.0, 1.2, UPRIGHT)
    assert minutes_in_turn([dry], [10], 50) is None


def test_card_of_a_lying_drum(plot_card):
    card = plot_card(**{"tank.volume_l": 200, "tank.shape": "lying", "tank.water_depth_m": 0.57})
    assert tank_body(card.tank).volume_at(0.285) == pytest.approx(0.1)


def test_a_flow_that_ends_at_the_very_outlet_is_integrated_to_its_end():
    """Q = N k h^x with h counted from the outlet: t = A / (N k (1 - x)) h0^(1 - x), by algebra.

    A flow looked up in a table is wrong in its last millimetre, so here it is made so.
    """
    area, factor, depth = 0.5, 2e-4, 1.0
    tank = TankBody("upright", area, depth, 0.1)

    def flow(level):
        height = level - 0.1
        return factor * (height**0.5 if height > 1e-4 else 1e-2 * height / 1e-4)

    drained = emptying(flow, 0.1, tank)
    assert drained.stop == "outlet"
    exact = area / (factor * 0.5) * 0.9**0.5 / 60
    assert drained.empty_minutes == pytest.approx(exact, rel=2e-3)


def test_a_flow_that_fades_out_at_the_outlet_never_empties_the_tank():
    """On a slope emitters end one after the other: Q goes with h^1.5 and the time is endless."""
    drained = emptying(lambda level: 1e-4 * max(0.0, level - 0.1) ** 1.5, 0.1, UPRIGHT)
    assert drained.stop == "dry"
    assert drained.empty_minutes is None
