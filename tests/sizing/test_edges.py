"""What mutation testing found unheld (`docs/mutation.md`): edges, and figures by hand.

Every expected figure is reckoned beside its test, in the plainest form of the formula; none comes
from the code.
"""

import csv
import datetime
import math
from dataclasses import replace

import pytest

from service.errors import NotConverged, OutOfRange
from service.sizing.climate import card_climate, unknown_climate
from service.sizing.emptying import LAST_M, emptying
from service.sizing.feeding import (
    Plot,
    feed,
    ground_of_plants,
    read_fertilisers,
    weekly_grams,
)
from service.sizing.geometry import network_of
from service.sizing.laying import laying_of
from service.sizing.leaching import soil_salinity
from service.sizing.sized import candidate
from service.sizing.soil_store import Store, Zone, day_balance, felt, sets_a_day, zone
from service.sizing.tables import standard_tables, table_text
from service.sizing.tank import TankBody
from service.sizing.treatment import (
    acid_dose,
    acids,
    can_mix,
    chlorine_dose,
    measurable,
    pipe_litres,
    read_acids,
)
from service.sizing.uniformity import (
    absolute_uniformity,
    allowed_head_difference,
    emission_uniformity,
    low_quarter_uniformity,
    statistical_uniformity,
)
from service.sizing.watering import (
    Case,
    day_need,
    fill_minutes,
    growing_day,
    kc_curve,
    supply_check,
    water_need,
)

TABLES = standard_tables()
TOMATO, LOAM = TABLES.crop("tomato"), TABLES.soil("loam")
PLANTED = datetime.date(2026, 3, 1)


# --- treatment: litres and millilitres that can hurt ---------------------------------------------


@pytest.mark.parametrize(
    ("key", "pct"), [(key, one.low_pct) for key, one in acids().items()]
    + [(key, one.high_pct) for key, one in acids().items()],
)  # fmt: skip
def test_an_acid_dose_is_moles_over_strength_over_density(key, pct):
    """Independent of the code's own form: mol/L x g/mol x 100 g / pct g, by the density there."""
    one = acids()[key]
    density = {one.low_pct: one.low_kg_l, one.high_pct: one.high_kg_l}[pct] or 1.0
    grams = 0.001 * one.millimoles_per_l * one.molar_g * 100 / pct
    assert one.dose_per_litre(pct) == pytest.approx(grams / density, rel=1e-9)
    said = acid_dose(one, pct, 100.0)
    assert said <= grams / density * 100 + 1e-6
    assert said > grams / density * 100 - 10


def test_every_acid_of_the_table_is_read_whole():
    """Against the text itself: the table that everybody uses is read once and kept."""
    fresh = read_acids(table_text("acids.csv"), "acids.csv")
    assert fresh == acids()
    for told in csv.DictReader(table_text("acids.csv").splitlines()):
        one = fresh[told["key"]]
        assert (one.name, one.form) == (told["name"], told["form"])
        assert (one.low_kg_l, one.high_kg_l) == tuple(
            float(told[name]) if told[name] else None for name in ("low_kg_l", "high_kg_l")
        )


def test_the_edges_of_what_may_be_mixed():
    assert can_mix(0.5)
    assert can_mix(400)
    assert not can_mix(400.1)
    assert not can_mix(0)
    assert chlorine_dose(5, 100, ppm=20) == 40  # 20 mg/L x 100 L / (10 x 5)
    assert chlorine_dose(1, 400, ppm=0.5) == 20
    assert [measurable(dose) for dose in (19.9, 20, 24.9, 25, 99.9, 100, 109.9, 110)] == [
        19, 20, 20, 25, 95, 100, 100, 110
    ]  # fmt: skip


def test_a_submain_of_two_bores_holds_the_water_of_both(plot_card, pipes):
    card = plot_card(
        **{
            "submain.inner_diameter_mm": 28.2,
            "submain.second.inner_diameter_mm": 17.4,
            "submain.second.from_tap": 3,
        }
    )
    one = candidate(card, network_of(card, "corner", "length", 0.0282), 1)
    laying = laying_of(card, one.layout(), pipes)
    assert laying.second_m > 1
    bores = (28.2, laying.pipe_m), (17.4, laying.second_m)
    lines = (card.dripline.inner_diameter_mm, laying.line_count * laying.line_length_m)
    litres = sum(math.pi / 4 * bore**2 * length / 1000 for bore, length in (*bores, lines))
    assert pipe_litres(one, laying) == pytest.approx(litres, rel=1e-9)


def test_every_fertiliser_of_the_table_is_read_whole():
    text = table_text("fertilisers.csv")
    fresh = read_fertilisers(text, "fertilisers.csv")
    assert fresh == TABLES.fertilisers
    numbers = ("n_pct", "p2o5_pct", "k2o_pct", "solubility_g_l", "ec_ds_m_per_g_l", "kg_l")
    for told in csv.DictReader(text.splitlines()):
        one = fresh[told["key"]]
        assert (one.key, one.name) == (told["key"], told["name"])
        assert one.ions == tuple(told["ions"].split())
        for name in numbers:
            assert getattr(one, name) == (float(told[name]) if told[name] else None), name


# --- uniformity ----------------------------------------------------------------------------------


def test_emission_uniformity_by_hand():
    """100 (1 - 1.27 cv / sqrt(e)) min / mean, with a mean that is not 1."""
    assert emission_uniformity(0.05, 0.9, 2.0) == pytest.approx(100 * (1 - 0.0635) * 0.45)
    assert emission_uniformity(0.10, 1.5, 2.0, 4) == pytest.approx(100 * (1 - 0.0635) * 0.75)
    assert emission_uniformity(0.9, 1.0, 2.0) == 0
    assert emission_uniformity(0.05, 0.0, 2.0) == 0


def test_few_readings_have_a_quarter_and_an_eighth_of_one():
    assert low_quarter_uniformity([5, 4, 3, 2, 1]) == pytest.approx(100 / 3)
    assert absolute_uniformity([1, 2, 3, 4]) == pytest.approx(0.5 * (40 + 100 * 2.5 / 4))
    twelve = list(range(1, 13))  # lowest three: 2; highest two: 11.5; mean 6.5
    assert absolute_uniformity(twelve) == pytest.approx(0.5 * 100 * (2 / 6.5 + 6.5 / 11.5))


def test_a_dry_emitter_is_a_reading():
    assert low_quarter_uniformity([0, 2, 2, 4]) == 0
    assert statistical_uniformity([0, 2]) == pytest.approx(100 * (1 - math.sqrt(2)))


def test_the_head_that_a_goal_leaves_by_hand():
    """2.5 h (1 - (EU / (100 (1 - 1.27 cv / sqrt(e))))^(1/x)), x = 0.5, mean head 2 m."""
    share = 0.85 / (1 - 1.27 * 0.1 / 2)
    assert allowed_head_difference(85, 0.1, 0.5, 2.0, 4) == pytest.approx(5 * (1 - share**2))


# --- emptying ------------------------------------------------------------------------------------

UPRIGHT = TankBody("upright", 0.5, 1.0, 0.1)


def root_flow(level):
    return 0.5 / 3600 * math.sqrt(max(level, 0.0))


def test_a_little_water_takes_a_little_time():
    found = emptying(root_flow, 0.0, UPRIGHT)
    assert found.minutes_at(0.5) == pytest.approx(0.06, rel=0.05)  # 0.5 L at 500 L/h
    assert found.minutes_at(450) == pytest.approx(found.empty_minutes)


def test_why_and_where_the_level_stops():
    dry = emptying(lambda level: root_flow(level - 0.4), 0.4, UPRIGHT)
    assert (dry.stop, dry.stop_level) == ("dry", pytest.approx(0.4 + LAST_M))
    fed = TankBody("upright", 0.5, 1.0, 0.1, inflow=0.5 / 3600 * math.sqrt(0.5))
    held = emptying(root_flow, 0.0, fed)
    assert (held.stop, held.stop_level) == ("inflow", pytest.approx(0.5 + LAST_M, abs=2e-6))
    drowned = emptying(root_flow, 0.0, TankBody("upright", 0.5, 1.0, 0.1, inflow=1.0))
    assert (drowned.stop, drowned.stop_level) == ("inflow", 1.0)


def test_a_flow_that_no_integral_settles_on_is_refused_by_name():
    def ragged(level):
        """Chance in all but name, and so often near nothing that the time has no mean."""
        share = math.modf(abs(math.sin(level * 129_898)) * 43_758.5453)[0]
        return 1e-3 * max(1e-4, share) ** 3

    found = emptying(ragged, 0.0, UPRIGHT, "a leak")
    with pytest.raises(NotConverged, match="emptying of a leak"):
        _ = found.empty_minutes


# --- the soil's store ----------------------------------------------------------------------------


def test_roots_leave_the_strip_between_the_initial_stage_and_full_cover():
    stages = TOMATO.stages
    reached = [
        zone(TOMATO, LOAM, day, 5.0, 0.4).beside
        for day in (
            0, stages.initial, stages.initial + stages.development / 2,
            stages.initial + stages.development, stages.total,
        )
    ]  # fmt: skip
    assert reached == pytest.approx([0, 0, 0.3, 0.6, 0.6])


def test_a_crop_without_stages_has_roots_everywhere():
    mango = next(crop for crop in TABLES.crops.values() if crop.stages is None)
    assert zone(mango, LOAM, 10, 5.0, 0.4).beside == pytest.approx(0.6)


def test_water_that_rises_fills_the_strip():
    """Nobody drinks; 2 mm over the ground rise into 40 % of it: 5 mm less are missing there."""
    here = Zone(100.0, 40.0, 0.4, 0.6)
    after = day_balance(Store(20.0, 10.0), here, 0.0, capillary_mm=2.0)
    assert after.store == Store(pytest.approx(15.0), 10.0)


def test_what_is_drunk_beside_the_strip_by_hand():
    """4 mm: roots hold 0.4 + 0.3 of the ground, so 3/7 come from beside: 12/7 mm, while easy."""
    here = Zone(100.0, 40.0, 0.4, 0.3)
    after = day_balance(Store(0.0, 0.0), here, 4.0)
    beside = 4 * 0.3 / 0.7
    assert after.store.beside_mm == pytest.approx(beside / 0.3)
    assert after.store.strip_mm == pytest.approx((4 - beside) / 0.4)
    # Only 1 mm is still easy there: 0.3 mm over the ground.
    late = day_balance(Store(0.0, 39.0), here, 4.0)
    assert late.store.beside_mm == pytest.approx(40.0)


def test_felt_without_anything_known_both_parts_are_three_quarters_used_up():
    here = Zone(100.0, 40.0, 0.4, 0.3)
    assert felt(None, here, "dry", 0.4) == Store(75.0, 75.0)


@pytest.mark.parametrize(
    ("net", "rate", "per_day", "limit"),
    [(0.0, 0.0, 1, "none"), (0.0, 900.0, 1, "none"), (16.0, 1.0, 1, "none"),
     (32.0, 1.0, 2, "roots"), (500.0, 1.0, 4, "roots")],
)  # fmt: skip
def test_openings_at_their_edges(net, rate, per_day, limit):
    """The strip takes 0.4 x 40 = 16 mm over the ground at once: twice that in two goes."""
    found = sets_a_day(net, Zone(100.0, 40.0, 0.4), LOAM, rate)
    assert (found.per_day, found.limit) == (per_day, limit)


def test_exactly_the_soils_rate_is_one_opening():
    rate = LOAM.infiltration_low_mm_h
    assert sets_a_day(1.0, Zone(100.0, 40.0, 0.4), LOAM, rate).per_day == 1
    assert sets_a_day(0.5, Zone(100.0, 40.0, 0.4), LOAM, 2 * rate).limit == "puddles"


# --- feeding -------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", ["tomato", "onion"])
def test_ground_of_plants_by_hand(key):
    crop = TABLES.crop(key)
    by_hand = sum(crop.row_spacing_m * crop.plant_spacing_m for _ in range(100))
    assert ground_of_plants(crop, 100) == pytest.approx(by_hand)


def test_one_feed_is_held_back_by_nothing_and_seven_by_strength():
    urea = TABLES.fertilisers["urea"]
    weekly = 0.7 / 0.46  # g/m² at 46 % nitrogen, 1 g/L in half of the set's water
    one = feed(urea, Plot(TOMATO, "mid", 100.0, 2 * 100 * weekly + 1))
    assert (one.feeds, one.held_back) == (1, "amount")
    seven = feed(urea, Plot(TOMATO, "mid", 700.0, 2 * 100 * weekly + 1))
    assert (seven.feeds, seven.held_back) == (7, "strength")
    eight = feed(urea, Plot(TOMATO, "mid", 800.0, 2 * 100 * weekly - 1))
    assert (eight.feeds, eight.held_back) == (7, "week")
    even = feed(urea, Plot(TOMATO, "mid", 200.0, 2 * 100 * weekly))
    assert even.feeds == 2, "no third feed for the last bit of a sum"


def test_bags_at_their_edges():
    npk = next(one for one in TABLES.fertilisers.values() if one.told_by_bag)
    assert weekly_grams(npk, TOMATO, "mid", 60.0, 60) == pytest.approx(70.0)
    assert weekly_grams(npk, TOMATO, "mid", 3.0, 3) == pytest.approx(70.0)
    for bag in (2.9, 60.1, None):
        with pytest.raises(OutOfRange):
            weekly_grams(npk, TOMATO, "mid", 1.0, bag)


# --- watering ------------------------------------------------------------------------------------


def case(crop="tomato", **changes):
    usual = Case(TABLES.crop(crop), LOAM, card_climate(5), 400.0, 0.85, PLANTED)
    return replace(usual, **changes)


def test_a_day_without_a_crop_needs_nothing_at_all():
    plot = case()
    need = day_need(plot, kc_curve(plot), PLANTED - datetime.timedelta(days=1))
    rest = (need.kc, need.rain_mm_day, need.net_mm_day, need.gross_l_day, need.growing_days)
    assert (need.stage, rest) == ("none", (0, 0, 0, 0, 0))
    assert need.eto_mm_day == pytest.approx(5)
    assert need.day == PLANTED - datetime.timedelta(days=1)
    assert day_need(plot, kc_curve(plot), PLANTED).growing_days == 1


def test_a_resting_vine_needs_nothing_in_its_months_of_rest():
    vine = next(key for key, crop in TABLES.crops.items() if crop.cycle == "dormant")
    months = water_need(case(vine), PLANTED).months
    resting = [month for month in months if month.stage == "none"]
    assert resting
    for month in resting:
        found = (month.kc, month.rain_mm_day, month.net_mm_day, month.gross_l_day)
        assert (month.eto_mm_day, found, month.growing_days) == (5.0, (0, 0, 0, 0), 0)


@pytest.mark.parametrize(
    ("planted", "day", "number"),
    [
        ((2024, 2, 29), (2025, 2, 27), 365),
        ((2024, 2, 29), (2025, 2, 28), 1),
        ((2025, 3, 31), (2026, 3, 31), 1),
        ((2025, 3, 31), (2026, 3, 30), 365),
        ((2025, 3, 31), (2026, 4, 1), 2),
    ],
)
def test_the_year_of_a_vine_begins_again_on_its_day(planted, day, number):
    vine = next(crop for crop in TABLES.crops.values() if crop.cycle == "dormant")
    long = replace(vine, stages=replace(vine.stages, late=vine.stages.late + 365))
    plot = case(planted=datetime.date(*planted))
    plot = replace(plot, crop=long)
    assert growing_day(plot, datetime.date(*day)) == number


def test_what_a_warning_tells_of():
    plot = case(emission_uniformity=0.4, water_ec_ds_m=4.0, climate=unknown_climate())
    later = PLANTED + datetime.timedelta(days=400)
    told = {one.code: one for one in water_need(plot, later).warnings}
    assert told["season_over"].crop == "tomato"
    assert told["climate_unknown"].eto_mm_day == max(plot.climate.eto_mm_day)
    assert told["uniformity_too_low_for_litres"].emission_uniformity_pct == pytest.approx(40)
    salty = told["salty_water"]
    assert (salty.water_ec_ds_m, salty.soil_ece_ds_m) == (4.0, soil_salinity(4.0))
    assert salty.leaching_pct == pytest.approx(100 * water_need(plot, later).leaching)
    exactly = case(emission_uniformity=0.5)
    assert not [one for one in water_need(exactly, PLANTED).warnings if "uniformity" in one.code]


def test_supply_and_buckets_by_hand():
    need = water_need(case(), PLANTED + datetime.timedelta(days=85))
    peak = max(need.peak.gross_l_day, need.now.gross_l_day)
    found = supply_check(need, peak)
    assert (found.given_l_day, found.enough) == (peak, True)
    assert found.keeps_area_m2 == pytest.approx(400)
    assert found.buckets_needed_day == pytest.approx(need.now.gross_l_day / 20)
    assert found.buckets_peak_day == pytest.approx(peak / 20)


def test_minutes_of_a_month_are_those_of_its_litres():
    """A small plot and a trickle: no threshold but nought decides whether minutes are told."""
    need = water_need(case(area_m2=0.05), PLANTED)
    rows = fill_minutes(need, 0.5, lambda litres: 10 * litres)
    assert 0 < max(row.gross_l_day for row in rows) < 1
    for row in rows:
        assert row.minutes_per_day == pytest.approx(10 * row.gross_l_day)
        assert row.fills_per_day == pytest.approx(row.gross_l_day / 0.5)


def test_the_wind_of_a_crop_that_stays_is_that_of_the_whole_year():
    """FAO-56 eq. 62 on an even year: (0.04 (u2 - 2) - 0.004 (RH - 45)) (h / 3)^0.3 is added."""
    citrus = next(key for key, crop in TABLES.crops.items() if crop.stages is None)
    crop = TABLES.crop(citrus)
    windy = replace(card_climate(5), wind_2m=(4.0,) * 12, humidity_min_pct=(30.0,) * 12)
    curve = kc_curve(case(citrus, climate=windy))
    more = (0.04 * 2 - 0.004 * -15) * (crop.height_m / 3) ** 0.3
    assert curve.at(10) == curve.at(300) == pytest.approx(crop.steady_kc + more)


def test_the_wind_that_counts_is_that_of_mid_season():
    """Planted on 1 March; mid-season of 40 days or so lies between May and July."""
    stages = TOMATO.stages
    begins = PLANTED + datetime.timedelta(days=stages.initial + stages.development)
    ends = begins + datetime.timedelta(days=stages.mid)
    calm, wind = [2.0] * 12, [2.0] * 12
    for month in range(begins.month, ends.month + 1):
        wind[month - 1] = 5.0
    other = [7.0 - one for one in wind]
    humid = (45.0,) * 12

    def peak(of):
        climate = replace(card_climate(5), wind_2m=tuple(of), humidity_min_pct=humid)
        plot = case(climate=climate)
        return kc_curve(plot).at(stages.initial + stages.development + stages.mid / 2)

    assert peak(calm) == pytest.approx(TOMATO.kc_mid)
    by_hand = TOMATO.kc_mid + 0.04 * 3 * (TOMATO.height_m / 3) ** 0.3
    assert peak(wind) == pytest.approx(by_hand, rel=1e-6)
    assert peak(other) == pytest.approx(TOMATO.kc_mid, rel=1e-6)


def test_the_rain_of_a_month_is_its_own():
    """Each month another rain; seedlings meet 40 % of it on the strip, a full crop all of it."""
    wet = replace(card_climate(5), effective_mm_day=tuple(0.1 * month for month in range(1, 13)))
    months = {one.month: one for one in water_need(case(climate=wet), PLANTED).months}
    assert case().wetted_fraction == pytest.approx(0.4)
    assert months[3].rain_mm_day == pytest.approx(0.3 * 0.4, rel=0.02)
    assert months[6].stage == "mid"
    assert months[6].rain_mm_day == pytest.approx(0.6)
    assert months[6].net_mm_day == pytest.approx(months[6].kc * 5 - 0.6)


def test_the_coefficient_of_a_month_is_the_mean_at_the_middles_of_its_days():
    """The last month of the season lies on one straight line, so its middle day is its mean."""
    plot = case()
    last = water_need(plot, PLANTED).months[-1]
    assert last.stage == "late"
    first = (last.day - PLANTED).days
    middle = kc_curve(plot).at(first + last.growing_days / 2)
    assert last.kc == pytest.approx(middle, rel=1e-9)


@pytest.mark.parametrize("end", [(2027, 1, 31), (2027, 2, 1), (2026, 12, 31), (2027, 1, 1)])
def test_the_months_of_a_season_over_new_year(end):
    """Tomato counted back from its last day: each month once, the last one with its day in it."""
    total = int(TOMATO.stages.total)
    planted = datetime.date(*end) - datetime.timedelta(days=total - 1)
    months = water_need(case(planted=planted), planted).months
    dates = [planted + datetime.timedelta(days=day) for day in range(total)]
    expected = sorted({(date.year, date.month) for date in dates})
    assert [(one.day.year, one.month) for one in months] == expected
    assert sum(one.growing_days for one in months) == total


def test_no_salt_is_warned_of_where_there_is_none():
    for crop in TABLES.crops:
        told = water_need(case(crop, water_ec_ds_m=0.2), PLANTED).warnings
        assert not [one for one in told if one.code == "salty_water"], crop


@pytest.mark.parametrize(
    "wrong",
    [{"emission_uniformity": 1.01}, {"wetted_fraction": 1.01}, {"wetted_fraction": 0.0},
     {"area_m2": 0.0}],
)  # fmt: skip
def test_a_case_just_outside_its_range_is_refused(wrong):
    """Per cent for a share would be a tenth of the water, and no warning."""
    with pytest.raises(OutOfRange):
        case(**wrong)


def test_what_is_just_inside_is_taken():
    assert case(emission_uniformity=1.0, wetted_fraction=1.0).wetted_fraction == 1
    assert Plot(TOMATO, "mid", 0.5, 0.5).set_litres == 0.5
    assert Zone(100.0, 40.0, 1.0, 0.0).wetted == 1
    assert Zone(100.0, 40.0, 0.4, 0.6).beside == 0.6


@pytest.mark.parametrize(
    "wrong", [(100.0, 40.0, 1.01), (100.0, 40.0, 0.4, 0.61), (100.0, 100.0), (100.0, 0.0)]
)
def test_a_root_zone_just_outside_is_refused(wrong):
    with pytest.raises(OutOfRange):
        Zone(*wrong)
