"""Crop coefficients against the worked examples of FAO-56 chapter 6 and Annex 7."""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import OutOfRange
from service.sizing.kc import (
    KcCurve,
    StageDays,
    climate_adjusted,
    drip_kc_initial,
    lowest_humidity,
    wetting_kc_initial,
)
from service.sizing.tables import standard_tables

DATA = Path(__file__).parents[1] / "data" / "fao56_examples.csv"
with DATA.open(encoding="utf-8", newline="") as file:
    EXAMPLES = {row["id"]: row for row in csv.DictReader(file)}

# Dry bean, FAO-56 Example 28 and Figure 36.
BEAN = KcCurve(0.15, 1.19, 0.35, StageDays(25, 25, 30, 20))
FIGURE_36_ETO = (3.0, 3.4, 4.0, 4.2, 4.5, 5.1, 5.6, 6.0, 5.5, 5.2)

# Functions, not figures: each is reckoned in its own test, not while this file is read.
COMPUTED = {
    # Light wettings: TEW 10 mm, REW 6/sqrt(ETo) within 2.5 to 7 mm (Annex 7).
    "24": lambda: wetting_kc_initial(4, 2, 10, 6 / 4**0.5),
    "7-1a": lambda: wetting_kc_initial(5, 3.5, 10, 2.7),
    "7-1b": lambda: wetting_kc_initial(5, 3.5, 15, 6),
    "27a": lambda: climate_adjusted(1.20, 2, 1.3, 75),
    "27b": lambda: climate_adjusted(1.20, 2, 4.6, 44),
    "box14_4": lambda: climate_adjusted(1.15, 1, 4, 30),
    "box14_2": lambda: climate_adjusted(1.15, 1, 2, 30),
    "box14_1": lambda: climate_adjusted(1.15, 1, 1, 30),
    "box15": lambda: climate_adjusted(1.15, 0.4, 2.2, 30),
    "box15b": lambda: wetting_kc_initial(5.3, 14, 10, 6 / 5.3**0.5),
    "28_20": lambda: BEAN.at(20),
    "28_40": lambda: BEAN.at(40),
    "28_70": lambda: BEAN.at(70),
    "28_95": lambda: BEAN.at(95),
}


def near_the_print(name, value):
    row = EXAMPLES[name]
    printed, tolerance = float(row["published"]), float(row["tolerance"])
    assert value == pytest.approx(printed, abs=tolerance + 1e-9), row["note"]


@pytest.mark.parametrize("name", COMPUTED)
def test_worked_example_of_fao_56(name):
    """Examples 24 to 28, Boxes 14 and 15, Annex 7; pages stand in the table."""
    near_the_print(name, COMPUTED[name]())


@pytest.mark.parametrize(("decade", "eto"), list(enumerate(FIGURE_36_ETO, start=1)))
def test_means_of_ten_days_as_in_figure_36(decade, eto):
    mean = BEAN.mean(10 * decade - 9, 10 * decade)
    near_the_print(f"fig36_{decade}", mean)
    near_the_print(f"fig36_{decade}e", mean * eto)


def test_a_field_gets_the_strips_share():
    """FAO-56 Example 26 and eq. 60: 1.05 on the wetted two fifths is 0.42 over the field."""
    wetted = wetting_kc_initial(4, 2, 10, 3)
    assert drip_kc_initial(4, 2, 0.4, 10, 3) == pytest.approx(0.4 * wetted)


@pytest.mark.parametrize("soil", standard_tables().soils.values(), ids=lambda soil: soil.key)
@pytest.mark.parametrize("eto", [2, 4, 6, 8])
def test_daily_drip_starts_far_below_the_table(eto, soil):
    """Table 12 prints 0.6 to 0.7 for vegetables wetted all over; 1.15 fw is the most drip takes."""
    kc = drip_kc_initial(eto, 1, 0.4, soil.tew_mm, soil.rew_mm)
    assert 0.35 <= kc <= 0.46 + 1e-12
    if soil.key != "sand":
        assert kc >= 0.44


def test_a_wetter_interval_never_needs_less():
    values = [wetting_kc_initial(5, days, 10, 2.7) for days in (0.3, 1, 2, 4, 8)]
    assert values == sorted(values, reverse=True)
    assert values[0] == 1.15


@pytest.mark.parametrize(("eto", "days"), [(0, 1), (4, 0)])
def test_no_evaporation_no_coefficient(eto, days):
    with pytest.raises(OutOfRange, match="ETo times wetting"):
        wetting_kc_initial(eto, days, 10, 2.5)


def test_wind_and_humidity_are_kept_in_the_range_of_the_equation():
    """FAO-56 p. 121: u2 1 to 6 m/s, RHmin 20 to 80 %."""
    assert climate_adjusted(1.1, 1, 9, 5) == climate_adjusted(1.1, 1, 6, 20)
    assert climate_adjusted(1.1, 1, 0, 99) == climate_adjusted(1.1, 1, 1, 80)


def test_the_driest_air_and_the_tallest_crop_of_the_equation_by_hand():
    """Eq. 62: at 3 m and 20 % 0.004 x 25 is added; a crop of 12 m counts as one of 10 m."""
    assert climate_adjusted(1.1, 3, 2, 20) == pytest.approx(1.2)
    assert climate_adjusted(1.1, 3, 2, 5) == pytest.approx(1.2)
    assert climate_adjusted(1.0, 12, 4, 45) == pytest.approx(1 + 0.08 * (10 / 3) ** 0.3)


def test_the_standard_climate_changes_nothing():
    assert climate_adjusted(1.15, 0.6, 2, 45) == pytest.approx(1.15)


def test_lowest_humidity_of_saturated_air_is_all():
    """FAO-56 eq. 63: at e(Tmax) = 3.168 kPa at 25 °C (eq. 11) the air is full."""
    assert lowest_humidity(25, 3.168) == pytest.approx(100, abs=0.1)
    assert lowest_humidity(25, 1.584) == pytest.approx(50, abs=0.1)
    assert lowest_humidity(25, 3.5) == 100, "no air holds more than all"


STAGES = st.builds(
    StageDays,
    *[st.integers(1, 120)] * 4,
)


@given(
    stages=STAGES,
    initial=st.floats(0.1, 1.2),
    mid=st.floats(0.1, 1.3),
    end=st.floats(0.1, 1.2),
    day=st.floats(0, 480),
)
def test_the_curve_has_no_steps_while_the_crop_grows(stages, initial, mid, end, day):
    curve = KcCurve(initial, mid, end, stages)
    steepest = max(abs(mid - initial), abs(end - mid))
    if day + 0.01 <= stages.total:
        assert abs(curve.at(day + 0.01) - curve.at(day)) <= 0.01 * steepest + 1e-9
    if day <= stages.total:
        assert min(initial, mid, end) - 1e-9 <= curve.at(day) <= max(initial, mid, end) + 1e-9


def test_nothing_grows_after_the_last_stage():
    assert BEAN.at(101) == 0
    assert BEAN.stage(101) == "none"
    assert BEAN.stage(100) == "late"


def test_a_plant_that_grows_in_stays_at_full_cover():
    curve = KcCurve(0.4, 1.1, 1.0, StageDays(120, 90, 120, 60), holds=True)
    assert curve.at(2000) == 1.1
    assert curve.stage(2000) == "mid"


def test_a_stage_holds_its_last_day():
    """Dry bean: 25 + 25 + 30 + 20 days, day 1 being that of planting."""
    stages = {day: BEAN.stage(day) for day in (25, 26, 50, 51, 80, 81, 100)}
    assert stages == {
        25: "initial",
        26: "development",
        50: "development",
        51: "mid",
        80: "mid",
        81: "late",
        100: "late",
    }


def test_a_mean_counts_both_ends_by_the_middles_of_their_days():
    """Days 26 and 27 are 1/50 and 3/50 of the way from 0.15 to 1.19; the stage's mean is half."""
    assert BEAN.mean(26, 27) == pytest.approx(0.15 + 1.04 * 2 / 50)
    assert BEAN.mean(26, 50) == pytest.approx((0.15 + 1.19) / 2)
    assert BEAN.mean(10, 10) == pytest.approx(0.15)


def test_what_stands_evergreen_covers_all_that_it_will():
    grown = KcCurve(0.9, 0.9, 0.9, None)
    assert (grown.grown_in(1), grown.stage(1), grown.at(1)) == (1, "mid", 0.9)
    assert [BEAN.grown_in(day) for day in (25, 37.5, 50, 90)] == [0, 0.5, 1, 1]
