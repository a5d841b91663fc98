"""From crop and climate to litres, fills and minutes."""

import datetime
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import OutOfRange
from service.sizing.climate import Climate, card_climate, unknown_climate
from service.sizing.leaching import leaching_requirement, salt_yield_share, soil_salinity
from service.sizing.tables import standard_tables
from service.sizing.watering import (
    Case,
    day_need,
    fill_minutes,
    growing_day,
    kc_curve,
    planting_day,
    supply_check,
    water_need,
)

TABLES = standard_tables()
PLANTED = datetime.date(2026, 3, 1)


def case(crop="tomato", climate=None, **changes):
    usual = Case(
        crop=TABLES.crop(crop),
        soil=TABLES.soil("loam"),
        climate=climate or card_climate(5),
        area_m2=400.0,
        emission_uniformity=0.85,
        planted=PLANTED,
    )
    return replace(usual, **changes)


def test_one_millimetre_on_one_square_metre_is_one_litre():
    """FAO-56 Table 1, p. 3. Full cover, Kc 1.15 (Table 12), ETo 1/1.15, even watering."""
    plot = case(climate=card_climate(1 / 1.15), area_m2=1.0, emission_uniformity=1.0)
    middle = day_need(plot, kc_curve(plot), PLANTED + datetime.timedelta(days=85))
    assert middle.stage == "mid"
    assert middle.gross_l_day == pytest.approx(1.0)


def test_hand_calculation_of_a_tomato_plot_at_its_peak():
    """400 m² x 1.15 x 5 mm / 0.85 = 2705.9 L; Kc mid FAO-56 Table 12, whole June in mid-season."""
    june = water_need(case(planted=datetime.date(2026, 3, 20)), datetime.date(2026, 6, 10)).months[
        3
    ]
    assert june.month == 6
    assert june.kc == pytest.approx(1.15)
    assert june.net_mm_day == pytest.approx(5.75)
    assert june.gross_l_day == pytest.approx(400 * 5.75 / 0.85)


def test_the_season_has_each_of_its_months_once():
    """Tomato, 135 days (FAO-56 Table 11): from 1 March to 13 July."""
    need = water_need(case(), PLANTED)
    assert [month.month for month in need.months] == [3, 4, 5, 6, 7]
    assert [month.growing_days for month in need.months] == [31, 30, 31, 30, 13]
    stages = [month.stage for month in need.months]
    assert stages == ["initial", "development", "mid", "mid", "late"]
    assert need.now.stage == "initial"


@pytest.mark.parametrize("eto", [3, 5, 7])
def test_seedlings_take_what_the_wet_strip_gives_off_and_no_more(eto):
    """1.15 x 0.4 = 0.46 (FAO-56 eqs 60 and 7-1), not the 0.6 of Table 12."""
    first = water_need(case(climate=card_climate(eto)), PLANTED).now
    assert first.kc == pytest.approx(0.46, abs=0.005)


def test_rain_serves_seedlings_only_where_they_stand():
    """Counted rain 2 mm a day: two fifths of it on the strip at first, all of it at full cover."""
    wet = Climate((5.0,) * 12, (3.0,) * 12, (2.0,) * 12, "district")
    need = water_need(case(climate=wet), PLANTED)
    assert need.now.rain_mm_day == pytest.approx(0.8)
    middle = next(month for month in need.months if month.stage == "late")
    assert middle.rain_mm_day == pytest.approx(2.0)


def test_wind_and_dry_air_raise_the_coefficient():
    """FAO-56 eq. 62: 1.15 + (0.04 x 2 + 0.004 x 15) (0.6/3)^0.3 = 1.236."""
    windy = replace(card_climate(5), wind_2m=(4.0,) * 12, humidity_min_pct=(30.0,) * 12)
    assert kc_curve(case(climate=windy)).mid == pytest.approx(1.236, abs=0.001)


def test_a_low_coefficient_at_the_end_is_left_alone():
    """FAO-56 p. 127: eq. 65 only from 0.45 up; dry bean ends at 0.35 (Table 12, Box 15)."""
    windy = replace(card_climate(5), wind_2m=(4.0,) * 12, humidity_min_pct=(30.0,) * 12)
    assert kc_curve(case("dry_bean", windy)).end == 0.35
    assert kc_curve(case("tomato", windy)).end > 0.80


def test_an_evergreen_crop_gets_twelve_months_from_now():
    need = water_need(
        case("citrus", planted=datetime.date(2019, 5, 5)), datetime.date(2026, 11, 25)
    )
    assert [month.month for month in need.months] == [11, 12, *range(1, 11)]
    assert {month.kc for month in need.months} == {0.7}


def test_a_vine_rests_part_of_every_year():
    """Grape, 240 days from bud break (FAO-56 Table 11), then nothing until the next."""
    need = water_need(case("grape"), datetime.date(2029, 2, 1))
    stages = {month.month: month.stage for month in need.months}
    assert stages[2] == "none"
    assert stages[3] == "initial"
    assert stages[12] == "none"
    assert need.now.gross_l_day == 0


def test_a_young_banana_grows_in_and_stays():
    need = water_need(case("banana"), datetime.date(2029, 6, 1))
    assert {month.stage for month in need.months} == {"mid"}


def test_a_crop_still_to_be_planted_is_told_its_first_day():
    need = water_need(case(), datetime.date(2026, 1, 10))
    assert need.now.day == PLANTED
    assert need.now.stage == "initial"


def test_a_season_that_is_over_is_said_to_be():
    need = water_need(case(), datetime.date(2026, 12, 1))
    assert need.now.gross_l_day == 0
    assert [warning.code for warning in need.warnings] == ["season_over"]


def test_an_unknown_climate_is_warned_of():
    need = water_need(case(climate=unknown_climate()), PLANTED)
    assert [warning.code for warning in need.warnings] == ["climate_unknown"]


@pytest.mark.parametrize(
    ("date", "weeks", "expected"),
    [
        (datetime.date(2026, 2, 1), None, (datetime.date(2026, 2, 1), False)),
        (None, 6, (datetime.date(2026, 1, 18), False)),
        (None, None, (PLANTED, True)),
    ],
)
def test_day_of_planting(date, weeks, expected):
    assert planting_day(date, weeks, PLANTED) == expected


def test_day_one_is_the_day_of_planting():
    assert growing_day(case(), PLANTED) == 1
    assert growing_day(case(), PLANTED - datetime.timedelta(days=1)) is None
    assert growing_day(case(), PLANTED + datetime.timedelta(days=134)) == 135
    assert growing_day(case(), PLANTED + datetime.timedelta(days=135)) is None


@given(
    crop=st.sampled_from(sorted(TABLES.crops)),
    eto=st.lists(st.floats(0, 12), min_size=12, max_size=12),
    rain=st.lists(st.floats(0, 30), min_size=12, max_size=12),
    uniformity=st.floats(0, 1),
    salt=st.floats(0, 20),
    offset=st.integers(-400, 1500),
)
def test_need_is_never_negative_and_rows_add_up(crop, eto, rain, uniformity, salt, offset):
    plot = case(crop, card_climate(eto, rain), emission_uniformity=uniformity, water_ec_ds_m=salt)
    need = water_need(plot, PLANTED + datetime.timedelta(days=offset))
    for row in (*need.months, need.now):
        assert row.net_mm_day >= 0
        assert row.gross_l_day >= row.net_mm_day * plot.area_m2 * (1 - 1e-9)
        if row.stage != "none":
            assert row.net_mm_day == pytest.approx(
                max(0, row.kc * row.eto_mm_day - row.rain_mm_day)
            )
    assert need.peak.gross_l_day == pytest.approx(
        max(row.gross_l_day for row in need.months), abs=1e-6
    )


@given(low=st.floats(0.5, 1), high=st.floats(0.5, 1))
def test_gross_need_rises_as_uniformity_falls(low, high):
    low, high = sorted((low, high))
    uneven = water_need(case(emission_uniformity=low), PLANTED).peak.gross_l_day
    even = water_need(case(emission_uniformity=high), PLANTED).peak.gross_l_day
    assert uneven >= even
    assert uneven * low == pytest.approx(even * high)


def test_a_hopeless_layout_is_not_answered_with_ever_more_water():
    need = water_need(case(emission_uniformity=0.1), PLANTED)
    assert need.peak.gross_l_day == pytest.approx(400 * need.peak.net_mm_day / 0.5)
    assert [w.code for w in need.warnings] == ["uniformity_too_low_for_litres"]


def test_days_and_months_tell_the_same_season():
    """Same sum within 1 % over a season in a climate that changes: one rule, two roundings."""
    climate = card_climate([3.4, 3.5, 3.9, 4.6, 5.5, 6.6, 7.0, 6.7, 5.7, 4.7, 3.9, 3.5])
    plot = case(climate=climate)
    curve = kc_curve(plot)
    days = [PLANTED + datetime.timedelta(days=n) for n in range(135)]
    by_day = sum(day_need(plot, curve, day).net_mm_day for day in days)
    by_month = sum(m.net_mm_day * m.growing_days for m in water_need(plot, PLANTED).months)
    assert by_day == pytest.approx(by_month, rel=0.01)


# Salt


def test_leaching_of_tomato_under_water_of_2_ds_m():
    """ECw/(2 maxECe), maxECe 12.01 from Table 23 and eq. 89: 2/24.02 = 0.083."""
    assert leaching_requirement(2, TABLES.crop("tomato").salt) == pytest.approx(0.083, abs=0.001)


def test_little_leaching_needs_no_extra_water_and_much_does():
    """At most a tenth is covered by unevenness; beyond it, divided by 1 - LR."""
    fresh, fair, salty = (
        water_need(case(water_ec_ds_m=ec), PLANTED).peak.gross_l_day for ec in (0, 2, 4)
    )
    assert fair == fresh
    assert salty == pytest.approx(fresh / (1 - 4 / (2 * (0.9 + 100 / 9))))


def test_salty_water_is_warned_of_with_what_it_costs():
    """FAO-56 Example 39: water of 1 dS/m brings the soil to 1.5 dS/m (eq. 93, printed, p. 182)."""
    assert soil_salinity(1) == pytest.approx(1.5, abs=0.04)
    need = water_need(case("dry_bean", water_ec_ds_m=1.0), PLANTED)
    (warning,) = need.warnings
    assert warning.code == "salty_water"
    # Beans: threshold 1.0, 19 % per dS/m (Table 23): 1 - 0.533 x 0.19 of the harvest left.
    assert warning.yield_left_pct == pytest.approx(89.9, abs=0.1)


def test_yield_under_salt_is_unknown_without_figures():
    assert salt_yield_share(5, TABLES.crop("eggplant").salt) is None


# Fills, minutes, supply


def test_fills_and_minutes():
    """A tank gives 450 L in 90 minutes, the first half in 30: 2705.9 L is 6 fills and 5.9 L."""

    def minutes(litres):
        fills, rest = divmod(litres, 450)
        return 90 * fills + (30 * rest / 225 if rest <= 225 else 30 + 60 * (rest - 225) / 225)

    rows = fill_minutes(
        water_need(case(planted=datetime.date(2026, 3, 20)), PLANTED), 450.0, minutes
    )
    june = rows[3]
    assert june.fills_per_day == pytest.approx(2705.88 / 450, abs=0.001)
    assert june.minutes_per_day == pytest.approx(6 * 90 + 30 * 5.88 / 225, abs=0.01)


def test_a_tank_that_never_gives_that_much_has_no_minutes():
    rows = fill_minutes(water_need(case(), PLANTED), 450.0, lambda litres: None)
    assert rows[0].minutes_per_day is None
    assert rows[0].fills_per_day > 0


def test_a_tank_that_gives_nothing_counts_no_fills():
    rows = fill_minutes(water_need(case(), PLANTED), 0.0, lambda litres: None)
    assert (rows[0].fills_per_day, rows[0].minutes_per_day) == (0, None)


def test_no_need_takes_no_minutes():
    drowned = Climate((5.0,) * 12, (20.0,) * 12, (20.0,) * 12, "district")
    rows = fill_minutes(water_need(case(climate=drowned), PLANTED), 450.0, lambda litres: None)
    assert [row.minutes_per_day for row in rows] == [0.0] * 5


@pytest.mark.parametrize(("given_l", "enough"), [(3000, True), (2000, False), (None, None)])
def test_supply_against_the_peak(given_l, enough):
    check = supply_check(water_need(case(planted=datetime.date(2026, 3, 20)), PLANTED), given_l)
    assert check.enough is enough
    assert check.peak_l_day == pytest.approx(2705.88, abs=0.01)
    assert check.buckets_peak_day == pytest.approx(135.3, abs=0.01)
    if given_l is None:
        assert check.keeps_area_m2 is None
    else:
        assert check.keeps_area_m2 == pytest.approx(400 * given_l / 2705.88, rel=1e-4)


@pytest.mark.parametrize(
    "wrong", [{"area_m2": 0}, {"emission_uniformity": 85}, {"wetted_fraction": 0}]
)
def test_impossible_plots_are_refused(wrong):
    with pytest.raises(OutOfRange):
        case(**wrong)
