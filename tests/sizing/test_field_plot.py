"""What simple measurements should give on a plot."""

import pytest

from service.errors import OutOfRange
from service.sizing.field_plot import (
    Level,
    bottle_seconds,
    field_plot,
    reckoned_bottle,
    reckoned_cup,
    reckoned_minutes,
    tank_level,
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
