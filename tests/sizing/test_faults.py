"""Judging measurements: each fault is put into the network, and what it measures must betray it."""

import math
from dataclasses import dataclass, replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from service.errors import OutOfRange, TextFileError
from service.sizing.calibration import recalibrated
from service.sizing.card import read_card
from service.sizing.faults import (
    FIRST,
    TwoCups,
    WeakCup,
    bucket_flow,
    clogged,
    dropped_flow,
    far_by_bottle,
    filter_costs,
    lost_flow,
    nearer,
    read_causes,
    reckoned_share,
    tank_leaks,
    throttled,
    weak_by_bottle,
)
from service.sizing.field_plot import (
    Bottle,
    Level,
    bottle_seconds,
    cup_flow,
    field_plot,
    reckoned_cup,
    reckoned_minutes,
    with_bore,
)
from service.sizing.field_tables import fault_causes
from service.sizing.laid import with_known_bore
from service.sizing.troubles import Trouble, TroubledBlock

BOTTLE_L = 5.0
FULL = Level(1.0, 0.05)


@dataclass(frozen=True)
class Ground:
    """A plot as told, and the one really there: they differ in what was not measured."""

    plot: object
    true: object

    def cup(self, trouble, emitter=1, line=1, minutes=6):
        """Whole mL caught."""
        return round(cup_flow(self.true, line, emitter, 1.0, trouble) * 1000 * minutes / 60)

    def bottle(self, trouble, line=1):
        """Whole seconds, 0 when nothing comes within ten minutes."""
        seconds = bottle_seconds(self.true, line, 1.0, BOTTLE_L, trouble)
        return Bottle(BOTTLE_L, round(seconds) if seconds < 600 else 0)

    def weak(self, trouble):
        """The cup under the first dripper of the first line."""
        return WeakCup(self.cup(trouble), 6, FULL)


@pytest.fixture(scope="module")
def grounds(pipes):
    def ground(lines, length, stand, flow_lph, bore=1.0, factor=1.0, slope=0.0, **changes):
        card = read_card(
            {
                "plot": {"length_m": length, "width_m": lines, "slope_length_pct": slope},
                "tank": {"volume_l": 500},
                "stand_height_m": stand,
                "line_spacing_m": 1.0,
                "dripline": {"emitter_flow_lph": flow_lph},
                "layout": {"tank_position": "corner", "lines_run": "length", "blocks": 1},
                **changes,
            }
        )
        plot = field_plot(with_known_bore(card, pipes), pipes)
        return Ground(plot, with_bore(recalibrated(plot.one, factor), bore))

    return ground


PLOTS = st.fixed_dictionaries(
    {
        "lines": st.integers(3, 25),
        "length": st.integers(8, 35),
        "stand": st.floats(0.7, 2.5),
        "flow_lph": st.sampled_from([1.0, 1.6]),
        "bore": st.floats(0.93, 1.03),
        "factor": st.floats(0.93, 1.07),
    }
)
"""Plots as they are met with; bore and flow are what nobody measured."""
SHARES = st.floats(0.15, 0.6)
"""What is left of the flow when somebody rings because everything is weak."""


def weakened(ground, share, trouble_of, low, high):
    """Find how bad a fault is that leaves such a share at the first dripper."""
    wanted = share * cup_flow(ground.true, FIRST, FIRST, 1.0)
    for _ in range(40):
        middle = 0.5 * (low + high)
        flow = cup_flow(ground.true, FIRST, FIRST, 1.0, trouble_of(middle))
        low, high = (middle, high) if flow > wanted else (low, middle)
    return trouble_of(high)


# --- weak everywhere -----------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(PLOTS)
def test_a_sound_plot_is_not_called_weak(grounds, plot):
    ground = grounds(**plot)
    cup = reckoned_cup(ground.plot, FIRST, FIRST, FULL, 6)
    assert cup.verdict(ground.cup(Trouble())) == "as_reckoned"
    before = bottle_seconds(ground.true, 1, 1.0, BOTTLE_L)
    after = bottle_seconds(ground.true, 1, 1.0, BOTTLE_L, Trouble(filter_out=True))
    assert not filter_costs(ground.plot, FULL, round(before), round(after) + 1)


@settings(max_examples=30, deadline=None)
@given(PLOTS, SHARES)
def test_a_dirty_filter_is_named(grounds, plot, share):
    """The bottle is slow, and much faster without the element than a clean one explains."""
    ground = grounds(**plot)
    trouble = weakened(ground, share, lambda closed: Trouble(filter_closed=closed), 0.0, 0.9999)
    cup = ground.weak(trouble)
    assume(reckoned_cup(ground.plot, FIRST, FIRST, FULL, 6).verdict(cup.millilitres) == "less")
    inside = ground.bottle(trouble)
    assert weak_by_bottle(ground.plot, cup, inside) != "second"
    outside = ground.bottle(replace(trouble, filter_out=True))
    assert filter_costs(ground.plot, FULL, inside.seconds, outside.seconds)


@settings(max_examples=30, deadline=None)
@given(PLOTS, SHARES)
def test_a_valve_half_shut_is_not_taken_for_the_filter_nor_for_clogging(grounds, plot, share):
    ground = grounds(**plot)
    trouble = weakened(ground, share, lambda loss: Trouble(inlet_k=10**loss), 0.0, 9.0)
    cup = ground.weak(trouble)
    assume(reckoned_cup(ground.plot, FIRST, FIRST, FULL, 6).verdict(cup.millilitres) == "less")
    inside = ground.bottle(trouble)
    outside = ground.bottle(replace(trouble, filter_out=True))
    assert not filter_costs(ground.plot, FULL, inside.seconds, outside.seconds)
    assert weak_by_bottle(ground.plot, cup, inside) == "first"


@settings(max_examples=30, deadline=None)
@given(PLOTS, SHARES)
def test_clogged_drippers_are_named(grounds, plot, share):
    ground = grounds(**plot)
    trouble = Trouble(share=share)
    cup = ground.weak(trouble)
    assume(reckoned_cup(ground.plot, FIRST, FIRST, FULL, 6).verdict(cup.millilitres) == "less")
    assert weak_by_bottle(ground.plot, cup, ground.bottle(trouble)) == "second"


@settings(max_examples=15, deadline=None)
@given(PLOTS)
def test_half_of_all_drippers_dry_are_named(grounds, plot):
    """Every other one gives nothing, the one over the cup among them."""
    ground = grounds(**plot)
    network = ground.true.network
    shares = tuple(float(place % 2) for place in range(network.emitters_per_line))
    trouble = Trouble()
    for line in range(1, network.line_count + 1):
        trouble = trouble.with_line(line, shares=shares)
    cup = ground.weak(trouble)
    assert cup.millilitres == 0
    assert weak_by_bottle(ground.plot, cup, ground.bottle(trouble)) == "second"


@pytest.mark.parametrize(
    ("measured", "first", "second", "found"),
    [
        (100, 100, 40, "first"),
        (41, 100, 40, "second"),
        (63, 100, 40, "unclear"),
        (50, 45, 40, "unclear"),
        (0, 100, 40, "first"),
        (30, 100, 40, "second"),
        (5000, math.inf, 40, "first"),
        (60, math.inf, 40, "second"),
        (100, math.inf, 40, "unclear"),
        (150, 4000, 40, "first"),
    ],
)
def test_the_nearer_of_two_foretold_times(measured, first, second, found):
    assert nearer(measured, first, second) == found


@pytest.mark.parametrize(
    ("inside", "outside", "dirty"), [(0, 30, True), (0, 0, False), (0, 400, True), (0, 599, False)]
)
def test_no_water_at_all_with_the_element_in(grounds, inside, outside, dirty):
    ground = grounds(10, 20, 1.5, 1.0)
    assert filter_costs(ground.plot, FULL, inside, outside) is dirty


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_both_causes_leave_the_cup_as_weak_as_it_is(grounds, share):
    plot = grounds(10, 20, 1.5, 1.0).plot
    usual = cup_flow(plot.one, FIRST, FIRST, 1.0)
    cup = WeakCup(1000 * share * usual * 6 / 60, 6, FULL)
    before = cup_flow(plot.one, FIRST, FIRST, 1.0, throttled(plot, cup))
    assert before == pytest.approx(cup.flow, rel=0.02)
    emitters = clogged(plot, cup)
    assert emitters == Trouble(share=pytest.approx(share))
    # The pipes lose less then, so the emitters give a little more than their share.
    assert cup.flow < cup_flow(plot.one, FIRST, FIRST, 1.0, emitters) < 1.1 * cup.flow


def test_a_cup_that_is_full_enough_has_no_cause(grounds):
    plot = grounds(10, 20, 1.5, 1.0).plot
    cup = WeakCup(2000 * cup_flow(plot.one, FIRST, FIRST, 1.0) * 6 / 60, 6, FULL)
    assert (throttled(plot, cup), clogged(plot, cup)) == (Trouble(), Trouble())


def test_emitters_that_get_no_water_are_not_taken_for_clogged(grounds):
    """The ground rises above the water before the first emitter."""
    plot = grounds(3, 10, 0.0, 1.0, slope=10).plot
    low = Level(0.01, 0.0)
    assert cup_flow(plot.one, FIRST, FIRST, low.at) == 0
    assert clogged(plot, WeakCup(0, 6, low)) == Trouble()


def test_a_bottle_read_to_a_second_may_differ_by_as_much(grounds):
    """A clean filter costs little; beyond that, a second of each reading, added as squares."""
    plot = grounds(10, 20, 1.5, 1.0).plot
    with_it, without = (
        bottle_seconds(plot.one, 1, 1.0, BOTTLE_L, trouble)
        for trouble in (Trouble(), Trouble(filter_out=True))
    )
    clean = with_it / without
    for outside in (4, 20, 100):
        edge = next(
            inside
            for inside in range(outside, 20 * outside)
            if inside / outside > clean * (1 + math.sqrt(1 / inside**2 + 1 / outside**2))
        )
        assert filter_costs(plot, FULL, edge, outside)
        assert not filter_costs(plot, FULL, edge - 1, outside)
        assert edge <= outside + 2 + 0.1 * outside


# --- the far end ---------------------------------------------------------------------------------


def two_cups(ground, trouble, line=2):
    flows = TroubledBlock(ground.true, trouble).running(1.0).emitter_flows(line)
    first, last = (round(flow * 3.6e6 * 100) for flow in (flows[0], flows[-1]))
    return TwoCups(line, first, last, FULL)


@settings(max_examples=25, deadline=None)
@given(PLOTS, st.floats(-1, 1))
def test_a_sound_far_end_has_the_share_that_is_reckoned(grounds, plot, slope):
    ground = grounds(**plot, slope=slope)
    cups = two_cups(ground, Trouble())
    assert reckoned_share(ground.plot, cups).verdict(cups.share) == "as_reckoned"


@settings(max_examples=25, deadline=None)
@given(PLOTS, st.floats(3.0, 7.0), st.floats(0.25, 0.8))
def test_a_kink_is_named(grounds, plot, loss, along):
    ground = grounds(**plot)
    place = max(2, round(along * ground.true.network.emitters_per_line))
    trouble = Trouble().with_line(2, pinch=(place, 10**loss))
    cups = two_cups(ground, trouble)
    assume(reckoned_share(ground.plot, cups).verdict(cups.share) == "less")
    assert far_by_bottle(ground.plot, cups, ground.bottle(trouble, line=2)) == "first"


@settings(max_examples=25, deadline=None)
@given(PLOTS, st.floats(0.0, 0.6), st.floats(0.3, 0.9))
def test_silt_at_the_end_is_named(grounds, plot, left, clear):
    ground = grounds(**plot)
    count = ground.true.network.emitters_per_line
    sound = min(count - 1, round(clear * count))
    trouble = Trouble().with_line(2, shares=(1.0,) * sound + (left,) * (count - sound))
    cups = two_cups(ground, trouble)
    assume(reckoned_share(ground.plot, cups).verdict(cups.share) == "less")
    assert far_by_bottle(ground.plot, cups, ground.bottle(trouble, line=2)) == "second"


def far_share(one, line):
    """What the last emitter of a sound line gives of what the first one does, tank full."""
    flows = TroubledBlock(one, Trouble()).running(1.0).emitter_flows(line)
    return flows[-1] / flows[0]


def test_the_share_of_a_far_end_by_hand(grounds, pipes):
    """Two cups of one line: the make of two emitters and two readings of a millilitre each.

    Emitters of cv 0.05 lie within twice that; the narrowest bore on sale gives the least.
    """
    plot = grounds(10, 30, 1.0, 1.6).plot
    network = plot.one.network
    for first in (10, 50):
        found = reckoned_share(plot, TwoCups(3, first, first / 2, FULL))
        make = math.sqrt(2) * math.hypot(2 * 0.05, 1 / first)
        assert found.likely == pytest.approx(far_share(plot.one, 3))
        assert found.low == pytest.approx(
            far_share(with_bore(plot.one, plot.narrow), 3) * (1 - make)
        )
        assert found.high == pytest.approx(far_share(plot.one, 3) * (1 + make))
    assert len(network.sides) == 1
    assert far_share(plot.one, 3) < 0.99


def test_of_two_lines_at_one_tap_either_may_be_meant(grounds):
    """The main pipe runs down the middle of a plot that rises along its lines: one up, one down."""
    middle = {"tank_position": "mid_side", "lines_run": "length", "blocks": 1}
    plot = grounds(10, 30, 1.0, 1.6, slope=4, layout=middle).plot
    up, down = (far_share(plot.one, line) for line in (3, 4))
    found = reckoned_share(plot, TwoCups(2, 50, 40, FULL))
    assert up < 0.95 < down
    assert found.likely == pytest.approx((up + down) / 2)
    assert found.low < up < down < found.high


def test_a_dry_cup_at_the_near_end_leaves_the_share_open(grounds):
    """A reading of nothing may be off by all of it."""
    found = reckoned_share(grounds(10, 20, 1.5, 1.0).plot, TwoCups(1, 0, 10, FULL))
    assert found.low < 0 < found.likely < found.high
    assert found.high == pytest.approx(found.likely * (1 + math.sqrt(2) * math.hypot(0.1, 1)))


def test_where_no_water_arrives_the_share_is_none(grounds):
    plot = grounds(3, 10, 0.0, 1.0, slope=10).plot
    assert reckoned_share(plot, TwoCups(1, 10, 0, Level(0.01, 0.0))).likely == 0


def test_a_line_that_climbs_too_much_is_as_reckoned(grounds):
    """8 % uphill from a low stand: no fault, the layout."""
    ground = grounds(10, 20, 1.0, 1.0, slope=8)
    cups = two_cups(ground, Trouble())
    share = reckoned_share(ground.plot, cups)
    assert share.verdict(cups.share) == "as_reckoned"
    assert share.likely < 0.8


# --- water that goes astray ----------------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(PLOTS, st.floats(0.3, 1.5), st.booleans())
def test_a_hole_is_seen_in_the_minutes_and_not_made_worse_than_it_is(grounds, plot, size, far):
    """A hole in the main pipe that loses `size` times what all drippers give, tank full."""
    ground = grounds(**{**plot, "factor": 1.0, "bore": 1.0})
    sound = ground.true.full[0].total_flow_lph / 3.6e6
    area = size * sound / (0.6 * math.sqrt(2 * 9.81 * (plot["stand"] + 1)))
    hole = Trouble(hole=(plot["lines"] if far else 1, area))
    running = TroubledBlock(ground.true, hole).running(1.0)
    leak = 3.6e6 * (running.flow - sum(running.line_flow(n) for n, _, _ in running.lines))
    minutes = TroubledBlock(ground.true, hole).drain().empty_minutes
    assume(reckoned_minutes(ground.plot).verdict(minutes) == "less")
    assert 0.35 * leak < lost_flow(ground.plot, minutes) < leak


def test_what_a_tank_loses_that_empties_too_soon(grounds):
    """450 L in 100 min for 150: 270 L an hour for 180."""
    plot = grounds(10, 20, 1.5, 1.0).plot
    likely = reckoned_minutes(plot).likely
    litres = plot.one.card.tank.volume_l * 0.9
    assert lost_flow(plot, likely / 1.5) == pytest.approx(0.5 * litres * 60 / likely)
    assert lost_flow(plot, likely) == pytest.approx(0)
    assert lost_flow(plot, 2 * likely) == 0
    assert lost_flow(plot, 0.9) == pytest.approx(litres * 60 * (1 / 0.9 - 1 / likely))
    assert lost_flow(plot, 0) == 0


def test_a_tank_that_never_empties_loses_nothing(grounds):
    """More runs in than the drippers give; the minutes of such a tank say nothing."""
    plot = grounds(10, 20, 1.5, 1.0, tank={"volume_l": 500, "inflow_lph": 5000}).plot
    assert reckoned_minutes(plot) is None
    assert lost_flow(plot, 60) == 0


def test_a_falling_water_line_in_litres(grounds):
    """2 cm in 30 min from 500 L that stand 1 m deep (0.5 m²): 10 L, so 20 L an hour."""
    card = grounds(10, 20, 1.5, 1.0).plot.one.card
    assert dropped_flow(card, 0.02, 30) == pytest.approx(20)
    deep = grounds(10, 20, 1.5, 1.0, tank={"volume_l": 500, "water_depth_m": 0.8}).plot.one.card
    assert dropped_flow(deep, 0.02, 30) == pytest.approx(25)
    assert tank_leaks(0.02)
    assert not tank_leaks(0.004)


def test_a_bucket_in_half_a_minute():
    assert bucket_flow(20, 30) == pytest.approx(2400)
    with pytest.raises(OutOfRange):
        bucket_flow(20, 0)


# --- the table -----------------------------------------------------------------------------------


def test_every_cause_has_a_reason_and_a_source():
    table = fault_causes()
    assert len(table) > 40
    assert {seen for seen, _ in table} >= {"nothing", "weak", "far", "line", "dripper", "gush"}


def test_a_table_without_a_source_is_refused():
    text = "seen,finding,cause,reason,source\nweak,cup,filter,because,\n"
    with pytest.raises(TextFileError, match=r"faults.csv:2: source is empty"):
        read_causes(text, "faults.csv")
