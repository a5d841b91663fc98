import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import OutOfRange
from service.sizing.calibration import (
    Calibration,
    Contradiction,
    Cup,
    calibrated_from_cups,
    calibrated_from_minutes,
    recalibrated,
)
from service.sizing.geometry import network_of
from service.sizing.sized import candidate
from service.units import litres_per_hour


@pytest.fixture(scope="module")
def laid(plot_card):
    card = plot_card(**{"stand_height_m": 1.0, "submain.inner_diameter_mm": 17.4})
    return candidate(card, network_of(card, "corner", "length", 0.0174), 1)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.55, 1.5))
def test_a_calibrated_card_reproduces_its_minutes(laid, factor):
    minutes = recalibrated(laid, factor).drains[0].empty_minutes
    found = calibrated_from_minutes(laid, minutes)
    assert isinstance(found, Calibration)
    assert found.factor == pytest.approx(factor, rel=1e-3)
    again = recalibrated(laid, found.factor).drains[0].empty_minutes
    assert again == pytest.approx(minutes, rel=1e-4)
    assert found.low <= found.factor <= found.high


def caught(one, places, minutes, level):
    """Cups as the plot itself would fill them."""
    (state,) = one.states(one.network.stand + level)
    return [
        Cup(line, place, litres_per_hour(state.emitter_flows[line - 1][place - 1]) * minutes / 0.06)
        for line, place in places
    ]


PLACES = [(line, place) for line in (1, 7, 14, 20) for place in (1, 22, 44, 66)]


def test_a_calibrated_card_reproduces_its_cups(laid):
    cups = caught(recalibrated(laid, 0.83), PLACES, 6, 0.9)
    found = calibrated_from_cups(laid, cups, 6, 0.9)
    assert found.factor == pytest.approx(0.83, rel=1e-3)
    assert found.low < 0.83 < found.high


def test_short_readings_are_less_sure(laid):
    """A few minutes cannot be read as well as an hour."""
    quick = calibrated_from_minutes(laid, recalibrated(laid, 1.2).drains[0].empty_minutes)
    slow = calibrated_from_minutes(laid, recalibrated(laid, 0.6).drains[0].empty_minutes)
    assert (quick.high - quick.low) / quick.factor > (slow.high - slow.low) / slow.factor


def test_blocked_emitters_are_counted_and_left_out(laid):
    cups = caught(recalibrated(laid, 0.9), PLACES, 6, 0.9)
    cups[3] = Cup(1, 66, 0.0)
    found = calibrated_from_cups(laid, cups, 6, 0.9)
    assert found.dry_cups == 1
    assert found.factor == pytest.approx(0.9, rel=2e-3)


@pytest.mark.parametrize(
    ("minutes", "reason", "cause"), [(15, "too_fast", "leak"), (300, "too_slow", "valve_not_open")]
)
def test_minutes_that_contradict_the_card(laid, minutes, reason, cause):
    found = calibrated_from_minutes(laid, minutes)
    assert isinstance(found, Contradiction)
    assert (found.reason, found.causes[0]) == (reason, cause)
    assert found.expected == pytest.approx(laid.drains[0].empty_minutes, rel=1e-6)


def test_a_tank_that_cannot_empty_cannot_have_emptied(plot_card):
    card = plot_card(**{"stand_height_m": 0.0, "plot.slope_width_pct": 30.0})
    one = candidate(card, network_of(card, "corner", "length", 0.0218), 1)
    assert calibrated_from_minutes(one, 60).reason == "cannot_empty"


def test_half_the_cups_dry(laid):
    cups = [Cup(line, place, 0.0 if place > 30 and line > 7 else 50) for line, place in PLACES]
    cups[0] = Cup(1, 1, 0.0)
    assert calibrated_from_cups(laid, cups, 6, 0.9).reason == "too_many_dry_cups"


def test_cups_all_over_the_place(laid):
    volumes = [20, 60, 25, 70, 22, 65, 30, 55, 21, 66, 28, 58, 24, 62, 26, 57]
    cups = [Cup(*place, volume) for place, volume in zip(PLACES, volumes, strict=True)]
    assert calibrated_from_cups(laid, cups, 6, 0.9).reason == "too_scattered"


def test_cups_of_another_plot(laid):
    cups = [Cup(*place, 200) for place in PLACES]
    assert calibrated_from_cups(laid, cups, 6, 0.9).reason == "too_fast"


@pytest.mark.parametrize(
    "cups",
    [
        [Cup(1, 1, 50)] * 3,
        [Cup(1, 1, 50)] * 3 + [Cup(21, 1, 50)],
        [Cup(1, 1, 50)] * 3 + [Cup(1, 67, 50)],
    ],
)
def test_cups_that_cannot_be(laid, cups):
    with pytest.raises(OutOfRange):
        calibrated_from_cups(laid, cups, 6, 0.9)


@pytest.mark.parametrize("minutes", [0, -5])
def test_no_time_at_all(laid, minutes):
    with pytest.raises(OutOfRange):
        calibrated_from_minutes(laid, minutes)


def wide_pipes(plot_card, **changes):
    """A plot that can be reckoned by hand: pipes so wide that nothing is lost in them.

    4 lines of 13 emitters, 1 L/h at 10 m; the water lies 1.6 m + 0.9 m over the ground, and with
    the exponent of 0.5 each emitter gives (2.5 / 10)^0.5 = 0.5 L/h, so 50 mL in 6 minutes.
    """
    usual = {
        "plot": {"length_m": 4, "width_m": 4},
        "tank": {"volume_l": 20},
        "stand_height_m": 1.6,
        "submain.inner_diameter_mm": 50,
        "dripline": {"inner_diameter_mm": 30, "barb_loss_m": 0},
    }
    card = plot_card(**{**usual, **changes})
    return candidate(card, network_of(card, "corner", "length", 0.05), 1)


def four_cups(*millilitres):
    return [Cup(line, 5, caught) for line, caught in zip((1, 2, 3, 4), millilitres, strict=True)]


def emptying_minutes(factor):
    """Of the plot with wide pipes: 20 L over 1 m of depth, from 2.6 m down to the outlet at 1.7 m.

    52 emitters: 20 dH = -52 factor (H / 10)^0.5 dt, H in m and t in hours.
    """
    return 60 * 2 * math.sqrt(10) * 20 * (math.sqrt(2.6) - math.sqrt(1.7)) / (52 * factor)


def test_the_range_of_a_timing(plot_card):
    """45 minutes, read to 2, and filled to 5 %: where nothing is lost, flow goes as 1 / minutes."""
    minutes = emptying_minutes(1.0)
    wrong = math.hypot(2 / minutes, 0.05)
    found = calibrated_from_minutes(wide_pipes(plot_card), minutes)
    assert (found.factor, found.low, found.high) == pytest.approx(
        (1.0, 1 / (1 + wrong), 1 / (1 - wrong)), rel=1e-3
    )
    assert (found.measured, found.expected) == pytest.approx((minutes, minutes), rel=1e-3)
    assert found.dry_cups == 0


def test_the_range_of_cups(plot_card):
    """Four are enough. Two at 45 mL and two at 55: 10 % off the mean, (4 / 3)^0.5 of it by n - 1.

    The mean of four is half as unsure, and a cup is read to 2 %.
    """
    wrong = math.hypot(0.1 * math.sqrt(4 / 3) / 2, 0.02)
    found = calibrated_from_cups(wide_pipes(plot_card), four_cups(45, 55, 45, 55), 6, 0.9)
    assert (found.factor, found.low, found.high) == pytest.approx(
        (1.0, 1 - wrong, 1 + wrong), rel=1e-3
    )
    assert (found.measured, found.expected) == pytest.approx((0.5, 0.5), rel=1e-3)


@pytest.mark.parametrize(
    ("factor", "low", "high"), [(1.58, 1.58 * 0.98, 1.6), (0.505, 0.5, 0.505 * 1.02)]
)
def test_a_range_stops_where_no_emitter_could_be(plot_card, factor, low, high):
    """Cups all alike are still read to 2 %, but from 0.5 to 1.6 of the print is all there is."""
    found = calibrated_from_cups(wide_pipes(plot_card), four_cups(*[50 * factor] * 4), 6, 0.9)
    assert (found.factor, found.low, found.high) == pytest.approx((factor, low, high), rel=1e-3)


def test_cups_stand_under_the_emitter_that_was_told(plot_card):
    """Uphill by 20 %: the 5th emitter lies 1.35 m out and 0.27 m up, so 2.23 m below the water."""
    one = wide_pipes(plot_card, plot={"length_m": 4, "width_m": 4, "slope_length_pct": 20})
    found = calibrated_from_cups(one, four_cups(*[100 * math.sqrt(0.223)] * 4), 6, 0.9)
    assert found.factor == pytest.approx(1.0, rel=1e-3)


def test_one_cup_in_four_may_be_dry(plot_card):
    """A blocked emitter may still drip: 2 mL where the others give 50."""
    found = calibrated_from_cups(wide_pipes(plot_card), four_cups(50, 2, 50, 50), 6, 0.9)
    assert found.dry_cups == 1
    assert found.factor == pytest.approx(1.0, rel=1e-3)


def test_nothing_in_any_cup(plot_card):
    found = calibrated_from_cups(wide_pipes(plot_card), four_cups(0, 0, 0, 0), 6, 0.9)
    assert found == Contradiction("too_many_dry_cups", 4, 4, ("clogged", "shut_tap"))


def test_what_scattered_cups_say(plot_card):
    """25 and 55 mL by turns: 15 off a mean of 40, against the 30 % that still pass."""
    found = calibrated_from_cups(wide_pipes(plot_card), four_cups(25, 55, 25, 55), 6, 0.9)
    assert isinstance(found, Contradiction)
    assert found.measured == pytest.approx(15 / 40 * math.sqrt(4 / 3))
    assert (found.expected, found.causes) == (0.3, ("clogged", "mixed_lines"))


def test_what_impossible_minutes_say(plot_card):
    """What was told comes back; on ground above the outlet the tank never runs dry."""
    fast = calibrated_from_minutes(wide_pipes(plot_card), 0.5)
    assert (fast.reason, fast.measured) == ("too_fast", 0.5)
    assert fast.expected == pytest.approx(emptying_minutes(1.0), rel=1e-3)
    uphill = {"length_m": 4, "width_m": 4, "slope_width_pct": 30}
    low = wide_pipes(plot_card, plot=uphill, stand_height_m=0.0)
    causes = ("ground_higher_than_told", "stand_lower_than_told")
    found = calibrated_from_minutes(low, 60)
    assert found == Contradiction("cannot_empty", 60, None, causes)


def test_cups_that_stood_for_no_time(laid):
    with pytest.raises(OutOfRange, match="minutes of the catch"):
        calibrated_from_cups(laid, [Cup(*place, 50) for place in PLACES], 0, 0.9)


def test_a_tall_stand(plot_card):
    """7 m over the ground: (7 / 10)^0.5 L/h, in 6 minutes 83.7 mL; seen 0.8 of it."""
    one = wide_pipes(plot_card, stand_height_m=6.1)
    found = calibrated_from_cups(one, four_cups(*[0.8 * 100 * math.sqrt(0.7)] * 4), 6, 0.9)
    assert found.factor == pytest.approx(0.8, rel=1e-3)
