"""Land that water keeps, and what a shortage leaves."""

import datetime
from dataclasses import replace

import pytest

from service.errors import OutOfRange, TextFileError
from service.sizing.climate import Climate, card_climate
from service.sizing.enough import (
    Deficit,
    harvest_of_thirst,
    land_kept,
    read_deficits,
    short_of_water,
)
from service.sizing.season import days_of_season
from service.sizing.tables import standard_tables
from service.sizing.watering import Case, water_need

TABLES = standard_tables()
PLANTED = datetime.date(2026, 3, 1)


def case(crop="tomato", **changes):
    usual = Case(
        TABLES.crop(crop), TABLES.soil("loam"), card_climate(5), 400.0, 0.85, PLANTED
    )  # fmt: skip
    return replace(usual, **changes)


def test_land_by_hand():
    """Mid-season months of tomato: 1.15 x 5 / 0.85 = 6.76 L/m²; 500 L keep 73.9 m²."""
    land = land_kept(case(planted=datetime.date(2026, 3, 20)), 500, PLANTED)
    assert land.litres_m2_day == pytest.approx(6.7647, abs=1e-4)
    assert land.area_m2 == pytest.approx(500 / 6.7647, rel=1e-4)


@pytest.mark.parametrize("crop", ["tomato", "kale", "citrus", "banana"])
def test_the_land_kept_needs_just_that_water_at_its_peak(crop):
    land = land_kept(case(crop), 700, PLANTED)
    need = water_need(case(crop, area_m2=land.area_m2), PLANTED)
    assert need.peak.gross_l_day == pytest.approx(700)
    assert need.peak.month == land.peak_month


def test_where_rain_is_enough_no_land_is_too_much():
    wet = Climate((3.0,) * 12, (9.0,) * 12, (8.0,) * 12, "district")
    # Dry beside the strip for seedlings only where rain reaches less than they drink.
    assert land_kept(case("citrus", climate=wet), 10, PLANTED).area_m2 is None
    assert short_of_water(case("citrus", climate=wet), 10, PLANTED) is None


def test_water_below_nothing_is_refused():
    with pytest.raises(OutOfRange, match="water a day"):
        land_kept(case(), -1, PLANTED)


def test_enough_water_is_no_shortage():
    assert short_of_water(case(), 3000, PLANTED) is None


def test_a_sensitive_crop_is_better_on_less_land():
    """Maize, Ky 1.25 (FAO-56 Table 24): thirst in mid-season costs more than land left fallow."""
    short = short_of_water(case("maize"), 1500, PLANTED)
    assert short.whole_plot < short.part_of_plot < 1
    assert short.plant_less


def test_a_hardy_crop_may_share_the_water():
    """Groundnut, Ky 0.70 (FAO-56 Table 24)."""
    short = short_of_water(case("groundnut"), 1500, PLANTED)
    assert short.whole_plot > short.part_of_plot > 0.5
    assert not short.plant_less


def test_below_half_of_the_need_land_is_given_up_whatever_the_crop():
    short = short_of_water(case("groundnut"), 800, PLANTED)
    assert short.part_of_plot < 0.5
    assert short.plant_less


def test_a_crop_without_a_yield_factor_is_better_on_less_land():
    short = short_of_water(case("kale"), 1500, PLANTED)
    assert short.whole_plot is None
    assert short.plant_less


def test_harvest_by_hand_when_nothing_is_watered_in_a_dry_land():
    """FAO-56 eq. 90 is not let below nothing; with all the water all the harvest is there."""
    assert harvest_of_thirst(case(), 0) == pytest.approx(0, abs=0.02)
    assert harvest_of_thirst(case(), 1e6) == pytest.approx(1)


def test_every_crop_has_a_rule_with_its_source():
    assert set(TABLES.deficits) == set(TABLES.crops)
    for rule in TABLES.deficits.values():
        assert rule.source.endswith(
            ("(read)", "(from memory, not verified)", "(common practice, no source)")
        )


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("mint,leaves,nothing,,read", "not in the table of crops"),
        ("tomato,petals,nothing,,read", "protect: 'petals'"),
        ("tomato,fruit,sundays,,read", "spare: 'sundays'"),
        ("tomato,fruit,nothing,,", "status is empty"),
    ],
)
def test_a_rule_that_cannot_be_used_is_refused_with_its_line(row, words):
    text = f"crop,protect,spare,source,status\n{row}\n"
    with pytest.raises(TextFileError, match=r"d\.csv:2") as caught:
        read_deficits(text, "d.csv", TABLES.crops)
    assert words in str(caught.value)


def test_a_rule_is_read_column_by_column():
    text = "crop,protect,spare,source,status\nonion,bulbs,ripening,a book,read\n"
    rules = read_deficits(text, "d.csv", TABLES.crops)
    assert rules == {"onion": Deficit("onion", "bulbs", "ripening", "a book (read)")}


def test_no_water_keeps_no_land():
    assert land_kept(case(), 0, PLANTED).area_m2 == 0


def test_land_where_a_square_metre_drinks_less_than_a_litre():
    """1.15 x 0.6 / 0.85 = 0.812 L/m²: a little need is not the same as none."""
    cool = case(climate=card_climate(0.6), planted=datetime.date(2026, 3, 20))
    land = land_kept(cool, 81.2, PLANTED)
    assert land.crop == "tomato"
    assert land.area_m2 == pytest.approx(100, rel=1e-3)


@pytest.mark.parametrize(
    ("eto_mm_day", "months"),
    [
        # The month of most ETo and the two beside it, in the north and across the new year.
        ((3, 3, 3, 3, 3, 4, 5, 7, 6, 4.5, 3, 3), (7, 8, 9)),
        ((7, 6, 4.5, 3, 3, 3, 3, 3, 3, 3, 4, 5), (12, 1, 2)),
    ],
)
def test_an_evergreen_goes_thirsty_over_its_three_hottest_months(eto_mm_day, months):
    """FAO-56 eq. 90 with Ky 1.3 (Table 24, citrus: 1.1 to 1.3), summed by the calendar."""
    trees = case("citrus", climate=card_climate(eto_mm_day))
    need = used = 0.0
    for day in days_of_season(trees, 600):
        on = PLANTED + datetime.timedelta(days=day.number - 1)
        if on.month in months:
            need += day.need_mm
            used += day.balance.evapotranspiration_mm
    assert 0.2 < used / need < 0.8
    assert harvest_of_thirst(trees, 600) == pytest.approx(1 - 1.3 * (1 - used / need))
