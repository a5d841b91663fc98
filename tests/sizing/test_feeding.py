"""Fertiliser through the tank: amounts on the low side, salt against the crop's tolerance."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import OutOfRange, TextFileError
from service.sizing.feeding import (
    FERTILISER_COLUMNS,
    Plot,
    feed,
    ground_of_plants,
    pipe_litres,
    read_fertilisers,
    strongest_feed,
    weekly_grams,
)
from service.sizing.tables import standard_tables

TABLES = standard_tables()
TOMATO = TABLES.crop("tomato")
GRAMS_AN_EQUIVALENT = {
    # Molar masses and limiting ionic conductivities at 25 °C [S cm²/eq] are textbook values, from
    # memory: NH4 and K 73.5, 1/2 Ca 59.5, NO3 71.4, Cl 76.3, 1/2 SO4 80, H2PO4 33.
    "ammonium_sulphate": (132.14 / 2, 73.5 + 80.0),
    "calcium_nitrate": (1080.7 / 11, (10 * 59.5 + 73.5) / 11 + 71.4),
    "potassium_nitrate": (101.10, 73.5 + 71.4),
    "map": (115.03, 73.5 + 33.0),
    "mkp": (136.09, 73.5 + 33.0),
    "potassium_sulphate": (174.26 / 2, 73.5 + 80.0),
    "potassium_chloride": (74.55, 73.5 + 76.3),
}


def fertiliser(key):
    return TABLES.fertilisers[key]


def plot(crop=TOMATO, stage="mid", area_m2=400.0, set_litres=450.0, **changes):
    return Plot(crop, stage, area_m2, set_litres, **changes)


@pytest.mark.parametrize("key", GRAMS_AN_EQUIVALENT)
def test_salt_is_what_the_ions_of_a_gram_carry(key):
    """Kohlrausch: 1 g/L holds 1000 / m meq/L; at such strength 85 to 99 % of the limit is left."""
    grams, conductivity = GRAMS_AN_EQUIVALENT[key]
    limit = conductivity / grams
    assert 0.85 <= fertiliser(key).ec_ds_m_per_g_l / limit <= 0.99


def test_urea_carries_no_ions():
    assert fertiliser("urea").ec_ds_m_per_g_l == 0


def test_a_weeks_urea_by_hand():
    """0.7 g N/m² on 400 m² at 46 %: 609 g, in three feeds of at most 1 g/L in 225 L."""
    week = feed(fertiliser("urea"), plot())
    assert weekly_grams(fertiliser("urea"), TOMATO, "mid", 400.0) == pytest.approx(608.7, abs=0.1)
    assert (week.feeds, week.held_back) == (3, "strength")
    assert week.each_g == pytest.approx(202.9, abs=0.1)
    assert week.strength_g_l == pytest.approx(0.902, abs=0.001)
    assert week.added_ds_m == 0
    assert week.bucket_litres == 5
    assert week.spoons == pytest.approx(202.9 / (0.75 * 15), abs=0.1)


def test_no_nutrient_passes_its_weekly_most():
    """MAP 12-61: phosphate decides, 0.25 / 0.61 x 400 = 164 g; its nitrogen is 0.05 g/m²."""
    assert weekly_grams(fertiliser("map"), TOMATO, "mid", 400.0) == pytest.approx(163.9, abs=0.1)
    for each in TABLES.fertilisers.values():
        if each.told_by_bag:
            continue
        grams = weekly_grams(each, TOMATO, "mid", 1.0)
        assert grams * each.n_pct / 100 <= 0.7 + 1e-9
        assert grams * each.p2o5_pct / 100 <= 0.25 + 1e-9
        assert grams * each.k2o_pct / 100 <= 0.8 + 1e-9


def test_nitrogen_stays_under_what_was_read_of_practice():
    """7 lb an acre a week (Mississippi State Extension 2037): 0.785 g/m²."""
    assert pytest.approx(0.785, abs=0.001) == 7 * 453.592 / 4046.86
    assert weekly_grams(fertiliser("urea"), TOMATO, "mid", 1.0) * 0.46 < 0.785


def test_young_and_ripening_crops_get_half_and_a_crop_that_is_over_nothing():
    full = weekly_grams(fertiliser("urea"), TOMATO, "development", 400.0)
    assert weekly_grams(fertiliser("urea"), TOMATO, "initial", 400.0) == pytest.approx(full / 2)
    assert weekly_grams(fertiliser("urea"), TOMATO, "late", 400.0) == pytest.approx(full / 2)
    assert feed(fertiliser("urea"), plot(stage="none")) is None


def test_a_legume_gets_half_the_nitrogen_and_all_the_potash():
    bean = TABLES.crop("green_bean")
    pairs = [("urea", 0.5), ("potassium_sulphate", 1.0)]
    for key, share in pairs:
        tomato = weekly_grams(fertiliser(key), TOMATO, "mid", 100.0)
        assert weekly_grams(fertiliser(key), bean, "mid", 100.0) == pytest.approx(share * tomato)


def test_a_bag_is_asked_for_its_greatest_number():
    """19-19-19: 0.7 / 0.19 = 3.7 g/m²."""
    assert weekly_grams(fertiliser("npk"), TOMATO, "mid", 1.0, 19) == pytest.approx(3.684, abs=1e-3)
    for number in (None, 2, 61):
        with pytest.raises(OutOfRange, match="bag"):
            weekly_grams(fertiliser("npk"), TOMATO, "mid", 1.0, number)


def test_salt_keeps_the_feed_weak():
    """Tomato, threshold 0.9 dS/m: room 2 x 0.9 - 0.5 = 1.3; ammonium sulphate 2.1 a gram: 0.62."""
    strongest, limit = strongest_feed(fertiliser("ammonium_sulphate"), plot())
    assert strongest == pytest.approx(1.3 / 2.1)
    assert limit == "salt"
    assert strongest_feed(fertiliser("urea"), plot()) == (1.0, "strength")


def test_water_that_is_salty_already_carries_no_salt_more():
    salty = plot(water_ec_ds_m=1.75)
    assert feed(fertiliser("potassium_chloride"), salty) is None
    assert feed(fertiliser("urea"), salty) is not None


def test_what_does_not_go_into_a_week_is_left_out():
    """1806 g of calcium nitrate are wanted; seven times half of 100 L at 1 g/L carry 350 g."""
    week = feed(fertiliser("calcium_nitrate"), plot(set_litres=100.0))
    assert (week.feeds, week.held_back) == (7, "week")
    assert week.week_g == pytest.approx(7 * 1.0 * 50.0)
    assert week.week_g < weekly_grams(fertiliser("calcium_nitrate"), TOMATO, "mid", 400.0)


def test_slow_salts_are_dissolved_in_more_water():
    """Potassium sulphate, 111 g/L at 20 °C, to half of that: 600 g in 10.8 L."""
    week = feed(fertiliser("potassium_sulphate"), plot(area_m2=2000, set_litres=2000.0))
    assert week.bucket_litres == pytest.approx(week.each_g / 55.5)
    assert week.bucket_litres > 5


@given(
    key=st.sampled_from(sorted(TABLES.fertilisers)),
    crop=st.sampled_from(sorted(TABLES.crops)),
    stage=st.sampled_from(["initial", "development", "mid", "late"]),
    area=st.floats(1, 10_000),
    litres=st.floats(5, 20_000),
    water=st.none() | st.floats(0, 8),
    bag=st.floats(3, 60),
)
def test_no_feed_is_ever_strong_or_salty(key, crop, stage, area, litres, water, bag):
    one = Plot(TABLES.crop(crop), stage, area, litres, water)
    week = feed(fertiliser(key), one, bag)
    if week is None:
        return
    assert 1 <= week.feeds <= 7
    assert 0 < week.strength_g_l <= 1 + 1e-9
    assert week.each_g <= litres / 2 + 1e-9
    threshold = one.crop.salt.threshold_ds_m or 1.0
    assert week.added_ds_m + (0.5 if water is None else water) <= max(
        2 * threshold + 1e-9, 0.5 if water is None else water
    )
    wanted = weekly_grams(fertiliser(key), one.crop, stage, area, bag)
    assert week.week_g <= wanted * (1 + 1e-9)


def test_pipes_by_hand():
    """400 m of 13.6 mm hold 58.1 L, 19.5 m of 17.4 mm 4.6 L."""
    assert pipe_litres(20, 20, 0.0136, 19.5, 0.0174) == pytest.approx(58.1 + 4.64, abs=0.05)


def test_ground_of_plants_by_hand():
    """Tomato 1.0 m by 0.4 m: 250 plants stand for 100 m²."""
    assert ground_of_plants(TOMATO, 250) == pytest.approx(100)


@pytest.mark.parametrize(("area", "litres"), [(0, 100), (100, 0)])
def test_no_ground_or_no_water_is_refused(area, litres):
    with pytest.raises(OutOfRange):
        Plot(TOMATO, "mid", area, litres)


def test_what_makes_sludge_is_known():
    assert fertiliser("map").clouds_hard_water
    assert fertiliser("ammonium_sulphate").clouds_hard_water
    assert not fertiliser("urea").clouds_hard_water
    assert "calcium" in fertiliser("calcium_nitrate").ions


def test_a_row_that_cannot_be_used_is_refused_with_its_line():
    row = "lime,Lime,0,0,0,,read,5,,read,0,,read,1,read,,"
    with pytest.raises(TextFileError, match=r"f\.csv:2: solubility_g_l: 5 is outside"):
        read_fertilisers(",".join(FERTILISER_COLUMNS) + "\n" + row + "\n", "f.csv")
