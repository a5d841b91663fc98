"""What simple measurements should give on a plot."""

import math
from dataclasses import replace

import pytest

from service.errors import OutOfRange
from service.sizing.field_plot import (
    Level,
    Reckoned,
    bottle_seconds,
    cup_flow,
    field_plot,
    reckoned_bottle,
    reckoned_cup,
    reckoned_minutes,
    tank_level,
    with_bore,
)

FIXED = {"tank_position": "corner", "lines_run": "length", "blocks": 1}
FULL = Level(1.0, 0.05)


@pytest.fixture(scope="module")
def plot(plot_card, pipes):
    def plot(factors=None, **changes):
        card = plot_card(**{"layout": FIXED, "submain.inner_diameter_mm": 21.8, **changes})
        return field_plot(card, pipes, factors)

    return plot


def test_a_cup_holds_what_the_network_gives(plot):
    """6 minutes: mL times 10 is mL an hour (hydraulics of the sound network)."""
    found = plot(stand_height_m=1.5)
    flow = found.one.emitter_flows()[0][0]
    assert reckoned_cup(found, 1, 1, FULL, 6).likely == pytest.approx(flow * 100, rel=1e-3)


def test_less_is_known_of_a_plot_never_measured(plot):
    printed, measured = plot(stand_height_m=0.5), plot((0.95, 1.05), stand_height_m=0.5)
    wide, narrow = (reckoned_cup(each, 1, 1, FULL, 6) for each in (printed, measured))
    assert wide.high - wide.low > 1.5 * (narrow.high - narrow.low)
    assert narrow.low < narrow.likely < narrow.high


def test_verdicts(plot):
    found = reckoned_cup(plot(), 1, 1, FULL, 6)
    assert found.verdict(found.likely) == "as_reckoned"
    assert found.verdict(found.low - 1) == "less"
    assert found.verdict(found.high + 1) == "more"


def test_a_bore_that_was_measured_leaves_less_doubt(plot):
    guessed = reckoned_bottle(plot(), 1, FULL, 5)
    measured = reckoned_bottle(plot(**{"dripline.inner_diameter_mm": 13.6}), 1, FULL, 5)
    assert measured.likely == pytest.approx(guessed.likely)
    assert guessed.low < measured.low < measured.high < guessed.high


def test_twice_the_bottle_takes_twice_as_long(plot):
    one = plot().one
    assert bottle_seconds(one, 1, 1.0, 10) == pytest.approx(2 * bottle_seconds(one, 1, 1.0, 5))


def test_both_sides_of_the_main_pipe_may_be_meant(plot):
    """Uphill on one side and downhill on the other: either line may have been chosen."""
    sides = {**FIXED, "tank_position": "mid_side"}
    steep = plot(**{"plot.slope_length_pct": 5, "stand_height_m": 1.0}, layout=sides)
    assert steep.lines_at(3) == (5, 6)
    level = plot(**{"stand_height_m": 1.0}, layout=sides)
    wide, narrow = (reckoned_cup(each, 3, 33, FULL, 6) for each in (steep, level))
    assert wide.high - wide.low > narrow.high - narrow.low


def test_a_place_that_is_not_there(plot):
    with pytest.raises(OutOfRange, match="place along the main pipe 21"):
        plot().lines_at(21)


@pytest.mark.parametrize(("metres", "emitter"), [(0, 1), (0.15, 1), (0.5, 2), (8, 27), (99, 66)])
def test_the_emitter_nearest_to_a_place(plot, metres, emitter):
    """Every 0.3 m from 0.15 m on: 8 m lies between the 27th (7.95 m) and the 28th (8.25 m)."""
    assert plot().emitter_at(metres) == emitter


def test_minutes_are_those_of_all_blocks_open(plot):
    blocks = plot(layout={**FIXED, "blocks": 2})
    assert reckoned_minutes(blocks).likely == pytest.approx(reckoned_minutes(plot()).likely)


def test_a_tank_that_never_empties_has_no_minutes(plot):
    assert reckoned_minutes(plot(**{"tank.inflow_lph": 5000})) is None


def test_levels_told_by_quarters_are_less_sure(plot):
    card = plot().one.card
    assert tank_level(card, 1.0) == Level(1.0, 0.05)
    assert tank_level(card, 0.5) == Level(0.5, 0.12)
    assert tank_level(card, 0.0).at == card.tank.outlet_height_m


@pytest.mark.parametrize(("slope", "share"), [(0, 1.0), (10, 0.5), (20, 0.25)])
def test_drippers_below_the_water_can_run(plot, slope, share):
    """1 m of water on the ground: on 10 % uphill it reaches 10 of 20 m, on 20 % only 5."""
    ground = {"stand_height_m": 0.0, "plot.slope_length_pct": slope}
    assert plot(**ground).running_share(FULL) == pytest.approx(share, abs=0.02)


WIDE = {
    "plot": {"length_m": 4, "width_m": 4},
    "tank": {"volume_l": 20},
    "stand_height_m": 1.6,
    "submain.inner_diameter_mm": 50,
    "dripline": {"inner_diameter_mm": 30, "barb_loss_m": 0, "cv": 0.05},
}
"""Pipes so wide that nothing is lost in them: 52 emitters of (H / 10)^0.5 L/h, H in m over the
ground, which is 1.6 m and the level in the tank."""
SIDES = {**FIXED, "tank_position": "mid_side"}


def test_the_range_of_a_cup(plot):
    """At 0.9 m told to 0.4: 50 mL in 6 minutes; at 0.5 m 45.8; at most the tank's 1 m: 51.0.

    Emitters 5 % slow or fast, their make twice 5 %, and a cup read to 1 mL.
    """
    found = reckoned_cup(plot((0.95, 1.05), **WIDE, layout=SIDES), 2, 2, Level(0.9, 0.4), 6)
    assert (found.low, found.likely, found.high) == pytest.approx(
        (
            100 * math.sqrt(0.21) * 0.95 * 0.9 - 1,
            50,
            100 * math.sqrt(0.26) * 1.05 * 1.1 + 1,
        ),
        rel=1e-3,
    )


@pytest.mark.parametrize(("stand", "factors"), [(0.99, (0.8, 1.2)), (1.0, (0.9, 1.1))])
def test_print_is_trusted_less_at_low_head(plot, stand, factors):
    """The tank holds 1 m: from 2 m of water over the ground on, emitters keep to their print."""
    found = plot(stand_height_m=stand)
    assert (found.slow, found.fast) == pytest.approx(factors)


def test_a_dry_cup_where_little_was_due(plot):
    """On 10 % uphill the water ends at 10 m: beyond, an empty cup is as reckoned."""
    uphill = plot(**{"stand_height_m": 0.0, "plot.slope_length_pct": 10})
    found = reckoned_cup(uphill, 1, 60, FULL, 6)
    assert (found.low, found.likely) == (0.0, 0.0)
    assert found.verdict(0.0) == "as_reckoned"
    assert found.verdict(50.0) == "more"


def test_a_bottle_that_never_fills(plot):
    """The same line ends 2 m up, above the water: nothing comes, and nothing is wrong."""
    uphill = plot(**{"stand_height_m": 0.0, "plot.slope_length_pct": 10})
    assert bottle_seconds(uphill.one, 1, 1.0, 5) == math.inf
    found = reckoned_bottle(uphill, 1, FULL, 5)
    assert found == Reckoned(math.inf, math.inf, math.inf)
    assert found.verdict(math.inf) == "as_reckoned"
    assert found.verdict(60) == "less"


def test_no_jet_is_faster_than_free_fall(plot):
    """A line of one emitter, 30 mm wide and 0.5 m long: loss is small beside the jet's own.

    0.0007 m2 at (2 g 2.5)^0.5 = 7 m/s, 5 L/s, is the most that can come; half of it must.
    """
    short = {
        **WIDE,
        "plot": {"length_m": 0.5, "width_m": 1},
        "dripline": {"inner_diameter_mm": 30, "barb_loss_m": 0, "emitter_spacing_m": 0.5},
        "submain.inner_diameter_mm": 150,
        "tap_k": 0,
        "inlet_k": 0,
        "filter": False,
    }
    jet = math.pi * 0.03**2 / 4 * math.sqrt(2 * 9.81 * 2.5)
    assert 0.1 / jet < bottle_seconds(plot(**short).one, 1, 0.9, 100) < 2 * 0.1 / jet


def test_a_bottle_is_timed_to_the_second(plot):
    """A bore that was measured and a level that is sure: only the clock is in doubt."""
    sides = plot(**WIDE, layout=SIDES)
    found = reckoned_bottle(sides, 2, Level(0.9, 0.0), 20)
    either = bottle_seconds(sides.one, 3, 0.9, 20)
    assert bottle_seconds(sides.one, 4, 0.9, 20) == pytest.approx(either)
    assert (found.low, found.likely, found.high) == pytest.approx((either - 1, either, either + 1))


def test_the_range_of_minutes(plot):
    """20 L over 1 m of depth from 2.6 m down to 1.7 m: 20 dH = -52 (H / 10)^0.5 dt, t in hours.

    Emitters 20 % slow take 1 / 0.8 of it; read to 2 minutes, filled to 5 %.
    """
    likely = 60 * 2 * math.sqrt(10) * 20 * (math.sqrt(2.6) - math.sqrt(1.7)) / 52
    read = math.hypot(2 / likely, 0.05)
    found = reckoned_minutes(plot((0.8, 1.1), **WIDE))
    assert (found.low, found.likely, found.high) == pytest.approx(
        (likely / 1.1 * (1 - read), likely, likely / 0.8 * (1 + read)), rel=1e-3
    )


def test_a_tank_that_slow_emitters_might_never_empty(plot):
    """At the outlet 52 emitters give 52 x 0.17^0.5 = 21.4 L/h: more than the 20 that come in.

    With 0.8 of it, 17.2 L/h, the inflow wins, and no minutes can be told.
    """
    filled = {**WIDE, "tank": {"volume_l": 20, "inflow_lph": 20}}
    assert reckoned_minutes(plot((0.95, 1.1), **filled)) is not None
    assert reckoned_minutes(plot((0.8, 1.1), **filled)) is None


def test_a_level_told_by_eye_in_a_deep_tank(plot):
    """Half of 1.4 m, told to 12 % of the depth; full, to 5 %."""
    card = plot(**{"tank.water_depth_m": 1.4}).one.card
    for share, at, within in ((0.5, 0.7, 0.168), (1.0, 1.4, 0.07)):
        found = tank_level(card, share)
        assert (found.at, found.within) == pytest.approx((at, within))


def test_the_last_tap(plot):
    assert plot().lines_at(20) == (20,)


def test_a_block_that_is_not_the_first(plot):
    """The main pipe climbs 10 %: 1 m of water reaches 10 of its 20 lines, which are block one."""
    blocks = {**FIXED, "blocks": 2}
    climbing = plot(**{"stand_height_m": 0.0, "plot.slope_width_pct": 10}, layout=blocks)
    assert climbing.running_share(FULL) == pytest.approx(0.5, abs=0.03)
    level = plot(**WIDE, layout=blocks)
    for line in (1, 4):
        assert cup_flow(level.one, line, 13, 0.9) == pytest.approx(0.5, rel=1e-3)


def test_the_range_of_a_bore_is_that_of_its_own_size(plot_card, pipes):
    """A card without a bore has 13.6 mm; a pipe of 13 mm is another pipe."""
    usual = next(pipe for pipe in pipes if pipe.use == "dripline")
    other = replace(usual, bore_mm=13.0, bore_low_mm=12.8, bore_high_mm=13.2)
    own = replace(usual, bore_mm=13.6, bore_low_mm=13.1, bore_high_mm=14.2)
    card = plot_card(**{"layout": FIXED, "submain.inner_diameter_mm": 21.8})
    found = field_plot(card, [other, own])
    assert (found.narrow, found.wide) == pytest.approx((13.1 / 13.6, 14.2 / 13.6))
    unknown = field_plot(card, [other])
    assert (unknown.narrow, unknown.wide) == (1.0, 1.0)


def test_another_bore_leaves_the_layout_as_it_was(plot):
    """A plot longer than wide: 4 lines 1 m apart, 26 emitters on 8 m (27 would need 8.1)."""
    one = plot(**{**WIDE, "plot": {"length_m": 8, "width_m": 4}}).one
    again = with_bore(one, 0.5)
    assert (again.network.line_count, again.network.emitters_per_line) == (4, 26)
    assert again.network.sides[0].shape.bore == pytest.approx(0.015)
