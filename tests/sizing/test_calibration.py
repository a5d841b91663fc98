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
