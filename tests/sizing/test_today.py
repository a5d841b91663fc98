"""Today's water from the soil's store and a report; hand checks of FAO-56 chapter 8."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.sizing.climate import card_climate
from service.sizing.tables import standard_tables
from service.sizing.today import CATCH_UP, Report, this_morning, water_today
from service.sizing.watering import Case

TABLES = standard_tables()
PLANTED = datetime.date(2026, 3, 1)
MID = PLANTED + datetime.timedelta(days=90)
YOUNG = PLANTED + datetime.timedelta(days=5)
FEELS = st.sampled_from([None, "dry", "top_wet", "finger", "hand"])


def case(crop="tomato", soil="loam", eto=5.0, uniformity=0.8):
    return Case(
        TABLES.crop(crop), TABLES.soil(soil), card_climate(eto), 400.0, uniformity, PLANTED
    )  # fmt: skip


def test_without_rain_or_digging_the_table_speaks():
    """1.15 x 5 = 5.75 mm; x 400 m² / 0.8 = 2875 L."""
    today = water_today(case(), MID, Report())
    assert today.net_mm == pytest.approx(5.75)
    assert today.gross_litres == pytest.approx(2875)
    assert (today.skip_days, today.sets.per_day) == (0, 1)


def test_a_drizzle_is_not_counted():
    """FAO-56 p. 170: less than 0.2 ETo, here 1 mm."""
    assert water_today(case(), MID, Report(rain_mm=0.9)) == water_today(case(), MID, Report())


def test_little_rain_takes_its_share_off_the_strips_need():
    """Strip short of 5.75 / 0.4 = 14.375 mm; after 3 mm 11.375; x 0.4 = 4.55 mm to fill it."""
    today = water_today(case(), MID, Report(rain_mm=3))
    assert today.net_mm == pytest.approx(4.55)


def test_thirty_millimetres_last_four_days():
    """
    Kept: strip 14.375 mm on 0.4 of the ground and 30 mm on the other 0.6: 23.75 mm.

    At 5.75 mm a day 4.1 days; RAW of the strip, (0.4 + 0.04 (5 - 5.75)) x 130 x 0.7 = 33.7 mm, is
    not used up in that time.
    """
    today = water_today(case(), MID, Report(rain_mm=30))
    assert (today.skip_days, today.net_mm, today.gross_litres) == (4, 0, 0)


def test_rain_beyond_what_the_soil_holds_is_worth_no_more():
    flood = water_today(case(), MID, Report(rain_mm=200))
    assert flood.skip_days == water_today(case(), MID, Report(rain_mm=60)).skip_days
    assert flood.skip_days <= 5


def test_seedlings_rest_one_day_after_any_rain():
    """Only the strip serves them, and it holds one day's water more than they use."""
    assert [water_today(case(), YOUNG, Report(rain_mm=mm)).skip_days for mm in (10, 30, 90)] == [
        1, 1, 1,
    ]  # fmt: skip


def test_dry_soil_gets_more_but_not_all_at_once():
    today = water_today(case(), MID, Report(feel="dry"))
    assert today.net_mm == pytest.approx(CATCH_UP * 5.75)


def test_wet_on_top_only_is_watered_nearly_as_ever():
    """2 cm of 70 cm of roots are full: 97 % of the day's water."""
    today = water_today(case(), MID, Report(feel="top_wet"))
    assert today.net_mm == pytest.approx(5.75 * (1 - 0.02 / 0.70))


def test_a_finger_deep_lets_a_loam_wait_and_a_full_grown_sand_not():
    assert water_today(case(), MID, Report(feel="finger")).skip_days == 1
    sand = water_today(case(soil="sand"), MID, Report(feel="finger"))
    assert sand.skip_days == 0
    assert 0.8 < sand.net_mm / sand.need_mm < 1


def test_the_finger_overrules_the_rain_gauge():
    both = water_today(case(), MID, Report(feel="dry", rain_mm=30))
    assert both == water_today(case(), MID, Report(feel="dry"))


def test_shallow_roots_in_sand_take_it_in_two_goes():
    """Onion: 0.3 m x 75 mm/m, p 0.3 less for thirst: RAW 6.9 mm, x 0.4 less than 5.25 mm."""
    today = water_today(case("onion", "sand"), MID, Report(), 2.0)
    assert (today.sets.per_day, today.sets.limit) == (2, "roots")


def test_clay_takes_it_in_goes_so_that_it_does_not_puddle():
    """2.7 mm/h on a soil that takes 1 mm/h."""
    today = water_today(case(soil="clay"), MID, Report(), 2.7)
    assert (today.sets.per_day, today.sets.limit) == (3, "puddles")


@pytest.mark.parametrize("days", [-3, 400])
def test_where_nothing_grows_nothing_is_due(days):
    today = water_today(case(), PLANTED + datetime.timedelta(days=days), Report(feel="dry"))
    assert (today.stage, today.gross_litres, today.skip_days) == ("none", 0, 0)
    assert today.need_mm == 0


@given(
    crop=st.sampled_from(sorted(TABLES.crops)),
    soil=st.sampled_from(sorted(TABLES.soils)),
    eto=st.floats(0.5, 12),
    age=st.integers(0, 700),
    feel=FEELS,
    rain=st.none() | st.floats(0, 300),
    rate=st.floats(0, 50),
)
def test_any_report_gives_water_or_rest_within_reason(crop, soil, eto, age, feel, rain, rate):
    plot = case(crop, soil, eto)
    day = PLANTED + datetime.timedelta(days=age)
    today = water_today(plot, day, Report(feel, rain), rate)
    assert 0 <= today.net_mm <= CATCH_UP * today.need_mm + 1e-9
    assert 0 <= today.skip_days <= 14
    assert 1 <= today.sets.per_day <= 4
    assert not (today.skip_days and today.net_mm)
    if feel in (None, "dry", "top_wet") and not rain:
        assert today.skip_days == 0


@given(rain=st.lists(st.floats(0, 200), min_size=2, max_size=2).map(sorted))
def test_more_rain_never_means_more_water(rain):
    less, more = (water_today(case(), MID, Report(rain_mm=mm)) for mm in rain)
    assert more.net_mm <= less.net_mm + 1e-9
    assert more.skip_days >= less.skip_days


def test_a_need_under_a_millimetre_is_still_watered_and_soaks_in_slowly():
    """
    Seedlings on clay in the cool: a strip wet every day gives off 1.15 x 1.5 on 0.4 of the ground.

    0.69 mm; x 400 m² / 0.8 = 345 L, in three goes at 2.7 mm/h on a soil that takes 1 mm/h.
    """
    today = water_today(case(soil="clay", eto=1.5), YOUNG, Report(), 2.7)
    assert (today.stage, today.skip_days) == ("initial", 0)
    assert today.net_mm == pytest.approx(0.69)
    assert today.gross_litres == pytest.approx(345)
    assert (today.sets.per_day, today.sets.limit) == (3, "puddles")


def test_two_centimetres_are_more_of_a_seedlings_roots():
    """Sixth of 70 days from 0.20 m to 0.70 m: 0.243 m of roots, of which 0.02 m are full."""
    today = water_today(case(), YOUNG, Report(feel="top_wet"))
    roots = 0.20 + 6 / 70 * 0.50
    assert today.net_mm == pytest.approx(today.need_mm * (1 - 0.02 / roots))


def test_a_card_that_says_no_evaporation_needs_no_water():
    today = water_today(case(eto=0.0), MID, Report(rain_mm=5))
    assert (today.need_mm, today.gross_litres) == (0, 0)


# --- from one report to the next ------------------------------------------------------------------


def days_on(number):
    return MID + datetime.timedelta(days=number)


def after(told, number, rain=None):
    return water_today(
        case(),
        days_on(number),
        Report(),
        0.0,
        this_morning(case(), days_on(number), told, rain or {}),
    )


def test_rain_reported_once_lets_the_plot_rest_on_the_days_after():
    """30 mm last four days (above): asked again on each of them, the rest runs down."""
    told = {MID: Report(rain_mm=30)}
    assert [after(told, number).skip_days for number in range(1, 6)] == [3, 2, 1, 0, 0]


def test_after_the_rest_the_strip_gets_what_it_used_up_meanwhile():
    """
    Dr of the strip after the fifth morning's need, by eq. 85 by hand.

    30 mm fill strip (14.375 short) and the ground beside. On four rest days each ETc of 5.75 mm is
    drunk: 0.6 of it beside as long as it is easy there (RAW 33.7 mm less what is short), so
    the strip loses 0.4 x 5.75 / 0.4 = 5.75 mm a day: 23 mm in four days, 9.2 mm over the ground;
    one opening brings at most 1.5 ETc = 8.625 mm.
    """
    first = after({MID: Report(rain_mm=30)}, 4)
    assert first.skip_days == 0
    assert first.net_mm == pytest.approx(CATCH_UP * 5.75)


def test_a_field_officers_rain_counts_like_a_farmers():
    rain = {MID: 30.0}
    assert after(None, 1, rain).skip_days == after({MID: Report(rain_mm=30)}, 1).skip_days == 3


def test_the_farmers_own_word_stands_before_the_districts_rain():
    """Their plot was passed by: nothing fell on it that day."""
    assert after({MID: Report()}, 1, {MID: 30.0}).skip_days == 0


def test_rain_told_since_the_last_watering_is_not_counted_twice():
    told = {MID: Report(rain_mm=30)}
    morning = this_morning(case(), days_on(1), told)
    again = water_today(case(), days_on(1), Report(rain_mm=30), 0.0, morning)
    assert again.skip_days == 3
    more = water_today(case(), days_on(1), Report(rain_mm=60), 0.0, morning)
    assert more.skip_days > 3


def test_a_finger_overrules_what_was_carried_over():
    morning = this_morning(case(), days_on(1), {MID: Report(rain_mm=30)})
    dry = water_today(case(), days_on(1), Report(feel="dry"), 0.0, morning)
    assert (dry.skip_days, dry.net_mm) == (0, pytest.approx(CATCH_UP * 5.75))


def test_a_report_of_more_than_two_weeks_ago_is_forgotten():
    assert this_morning(case(), days_on(15), {MID: Report(rain_mm=30)}) is None


def test_a_report_of_two_weeks_ago_is_still_looked_at():
    assert this_morning(case(), days_on(14), {MID: Report(rain_mm=30)}) is not None


def test_little_rain_on_each_of_two_days_counts_on_both():
    """
    The plot was watered after the first 3 mm, so the second 3 mm fell since then.

    Watered full, the first day's 5.75 mm come from beside for the 3 mm that fell there (0.6 x 3 =
    1.8 mm) and from the strip for the rest: 3.95 / 0.4 = 9.875 mm short; less 3 mm, x 0.4 = 2.75.
    """
    assert after({MID: Report(rain_mm=3)}, 1).net_mm == pytest.approx(3.95)
    morning = this_morning(case(), days_on(1), {MID: Report(rain_mm=3)})
    today = water_today(case(), days_on(1), Report(rain_mm=3), 0.0, morning)
    assert today.net_mm == pytest.approx(2.75)


def test_watered_as_told_every_day_is_the_usual_day():
    told = {days_on(number): Report() for number in range(5)}
    assert after(told, 5) == water_today(case(), days_on(5), Report())


@given(
    crop=st.sampled_from(sorted(TABLES.crops)),
    soil=st.sampled_from(sorted(TABLES.soils)),
    age=st.integers(0, 400),
    told=st.dictionaries(
        st.integers(1, 16), st.builds(Report, FEELS, st.none() | st.floats(0, 300)), max_size=6
    ),
    rain=st.dictionaries(st.integers(0, 16), st.floats(0, 300), max_size=6),
    now=st.builds(Report, FEELS, st.none() | st.floats(0, 300)),
)
def test_any_run_of_reports_stays_within_reason(crop, soil, age, told, rain, now):
    plot, day = case(crop, soil), PLANTED + datetime.timedelta(days=age)
    ago = {day - datetime.timedelta(days=number): report for number, report in told.items()}
    fell = {day - datetime.timedelta(days=number): mm for number, mm in rain.items()}
    morning = this_morning(plot, day, ago, fell)
    today = water_today(plot, day, now, 0.0, morning)
    assert 0 <= today.net_mm <= CATCH_UP * today.need_mm + 1e-9
    assert 0 <= today.skip_days <= 14
    assert not (today.skip_days and today.net_mm)
