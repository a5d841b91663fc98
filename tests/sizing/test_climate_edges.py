"""Climate tables: what is carried through, what fills a gap and what is doubted, by hand."""

import math

import pytest

from service.errors import TextFileError
from service.sizing import eto
from service.sizing.climate import find_districts, read_districts, unknown_climate
from service.sizing.month_limits import usual_range

# An invented place on a plateau of the tropics.
PLACE = {
    "district_id": "tal", "district_name": "Tal", "country": "ZZ", "lat": "-12", "lon": "34",
    "elev_m": "900", "tmin_c": "17", "tmax_c": "29", "rh_mean_pct": "60", "sun_h": "7.5",
    "wind_m_s": "2", "wind_height_m": "2", "rain_mm": "60",
}  # fmt: skip
MONTH_DAYS = 365.25 / 12
APRIL, JUNE = 105, 166  # FAO-56 p. 47: number of the 15th in the year.


def table(months=None, **every):
    """CSV text of the place: `every` for all months, `months` by number for some."""
    rows = [PLACE | every | (months or {}).get(n, {}) | {"month": str(n)} for n in range(1, 13)]
    heading = list(dict.fromkeys(name for row in rows for name in row))
    lines = [",".join(row.get(name, "") for name in heading) for row in rows]
    return "\n".join([",".join(heading), *lines])


def district(months=None, **every):
    return read_districts(table(months, **every), "t.csv")["tal"]


def ra(day, latitude=-12):
    return eto.extraterrestrial_radiation(latitude, day)


# --- what a district carries ---------------------------------------------------------------------


def test_a_district_knows_its_key_its_country_and_where_it_lies():
    tal = district(coast="yes")
    assert (tal.key, tal.name, tal.country) == ("tal", "Tal", "ZZ")
    assert (tal.place.latitude, tal.place.longitude, tal.place.elevation) == (-12, 34, 900)
    assert tal.place.coast


def test_a_districts_months_become_its_climate():
    """60 mm: 0.6 P - 10 = 26 counted; 70 mm in most years: 70 (125 - 14) / 125 = 62.16 stay."""
    climate = district(
        {2: {"rain_dependable_mm": "70", "rain_mm": "90"}, 3: {"rain_mm": ""}}, eto_mm_day="4.5"
    ).climate
    assert climate.origin == "district"
    assert climate.eto_mm_day == (4.5,) * 12
    assert climate.rain_mm_day[:3] == pytest.approx((60 / MONTH_DAYS, 90 / MONTH_DAYS, 0))
    assert climate.effective_mm_day[:3] == pytest.approx((26 / MONTH_DAYS, 62.16 / MONTH_DAYS, 0))


def test_no_rain_is_counted_where_nothing_is_known():
    assert unknown_climate().rain_mm_day == unknown_climate().effective_mm_day == (0.0,) * 12


@pytest.mark.parametrize(
    "gap",
    [
        {"every": {"rh_mean_pct": ""}},
        {"every": {"wind_m_s": "", "wind_height_m": ""}},
        # A month whose ETo was given has no weather, though its wind and humidity stand there.
        {"months": {3: {"eto_mm_day": "5"}}},
    ],
)
def test_the_crop_coefficient_is_left_alone_unless_all_wind_and_humidity_were_measured(gap):
    climate = district(gap.get("months"), **gap.get("every", {})).climate
    assert (climate.wind_2m, climate.humidity_min_pct) == (None, None)


def test_a_month_without_temperature_next_door_brings_no_heat_into_the_soil():
    """All known months are as warm as each other: G is nothing, not 0.07 (23 - 0)."""
    tal = district({12: {"tmin_c": "", "tmax_c": "", "eto_mm_day": "5"}})
    assert tal.eto[0].weather.g == tal.eto[10].weather.g == 0


@pytest.mark.parametrize(("unknown", "g"), [(5, 0.14 * (23 - 20)), (3, 0.14 * (26 - 23))])
def test_a_month_unknown_on_one_side_is_judged_by_the_other(unknown, g):
    """FAO-56 eq. 44, G = 0.14 (T this - T before), where the next is unknown; and its mirror.

    March 20, April 23, May 26 degrees; April's heat, with May or March not known.
    """
    months = {3: {"tmin_c": "14", "tmax_c": "26"}, 5: {"tmin_c": "20", "tmax_c": "32"}}
    months[unknown] = {"tmin_c": "", "tmax_c": "", "eto_mm_day": "5"}
    assert district(months).eto[3].weather.g == pytest.approx(g)


def test_a_month_between_two_unknown_ones_brings_no_heat_into_the_soil():
    """April of its own, March and May given as figures only."""
    bare = {"tmin_c": "", "tmax_c": "", "eto_mm_day": "5"}
    tal = district({3: bare, 4: {"tmin_c": "10"}, 5: bare})
    assert tal.eto[3].weather.g == 0
    assert tal.eto[2].method == "given"


def test_all_months_that_cannot_be_reckoned_are_told_at_once():
    bare = {"tmin_c": "", "tmax_c": ""}
    with pytest.raises(TextFileError) as caught:
        read_districts(table({3: bare, 8: bare}), "t.csv")
    assert [problem.line for problem in caught.value.problems] == [4, 9]


def test_temperatures_without_a_latitude_are_refused():
    with pytest.raises(TextFileError, match="eto_mm_day, or tmin_c, tmax_c and lat"):
        read_districts(table(lat=""), "t.csv")


def test_two_places_of_one_name_are_both_found():
    rows = [f"{key},Santa Rita,{month},5" for key in ("north", "south") for month in range(1, 13)]
    text = "\n".join(["district_id,district_name,month,eto_mm_day", *rows])
    found = find_districts(read_districts(text, "t.csv"), "santa")
    assert [place.key for place in found] == ["north", "south"]


# --- what fills a gap, and what went in ----------------------------------------------------------


def test_a_dew_point_gives_the_vapour_pressure():
    """FAO-56 Annex 2, Table 2.3: 1.938 kPa at 17 °C; it stands before the mean humidity."""
    month = district(tdew_c="17").eto[5]
    assert month.weather.ea == pytest.approx(1.938, abs=0.001)
    assert month.filled == ()


@pytest.mark.parametrize(("rain", "dew_c", "said"), [("40", 15, "2 °C under"), ("80", 17, "at")])
def test_a_month_is_dry_when_rain_is_under_half_of_the_need(rain, dew_c, said):
    """Eq. 52 for June: 0.0023 (23 + 17.8) 12^0.5 x 0.408 Ra: 4 mm a day, half a month's 60 mm."""
    need = 0.0023 * 40.8 * math.sqrt(12) * 0.408 * ra(JUNE)
    assert 40 < 0.5 * 30.4 * need < 80
    month = district(rh_mean_pct="", rain_mm=rain).eto[5]
    assert month.weather.ea == pytest.approx(0.6108 * math.exp(17.27 * dew_c / (dew_c + 237.3)))
    assert said in month.filled[0]


@pytest.mark.parametrize(
    ("known", "share_of_ra"),
    [
        # Eq. 35: 0.25 + 0.50 n/N; more sun than daylight is all of it.
        ({"sun_h": "", "sun_pct": "50"}, 0.50),
        ({"sun_h": "20"}, 0.75),
        # Eq. 50: 0.16 inland and 0.19 at a coast, by the root of 12 °C.
        ({"sun_h": ""}, 0.16 * math.sqrt(12)),
        ({"sun_h": "", "coast": "yes"}, 0.19 * math.sqrt(12)),
        # At most the clear sky of eq. 37, 0.75 + 2e-5 z: 25 °C would give 0.80.
        ({"sun_h": "", "tmin_c": "5", "tmax_c": "30", "elev_m": "2000"}, 0.79),
        ({"sun_h": "", "tmin_c": "5", "tmax_c": "30", "elev_m": ""}, 0.75),
    ],
)
def test_sunlight_of_a_month_by_what_is_known(known, share_of_ra):
    month = district(**known).eto[5]
    assert month.weather.rs == pytest.approx(share_of_ra * ra(JUNE), rel=1e-4)


def test_every_input_that_was_taken_for_granted_is_named():
    """They are printed beside the figure: a list with a hole in it hides a guess."""
    coast = district(
        rh_mean_pct="", sun_h="", elev_m="", coast="yes", wind_height_m="", rain_mm="200"
    ).eto[5]
    inland = district(sun_h="").eto[5]
    nothing = district(rh_mean_pct="", sun_h="", wind_m_s="", wind_height_m="").eto[5]
    topics = [note.partition(":")[0] for note in coast.filled]
    assert topics == ["humidity", "sunshine", "height of the wind", "elevation"]
    assert "coast" in coast.filled[1]
    assert "inland" in inland.filled[0]
    assert nothing.filled == ("only temperature known",)


# --- what is doubted -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("mean_c", "latitude", "low", "high"),
    [
        # As printed in FAO-56 Table 2, p. 8; its first column is about 10, its last above 30 °C.
        (10, 12, 2, 4), (20, 12, 3, 6), (30, 12, 5, 8), (10, 45, 1, 3), (20, -45, 2, 7),
        (30, 45, 4, 9), (2, 12, 2, 4), (38, 45, 4, 9),
        # Half way and a tenth of the way between two columns.
        (15, 12, 2.5, 5), (25, 12, 4, 7), (25, -45, 3, 8), (21, 12, 3.2, 6.2),
        # A place of unknown latitude is taken as tropical.
        (10, None, 2, 4),
    ],
)  # fmt: skip
def test_the_usual_range_is_the_papers_table(mean_c, latitude, low, high):
    assert usual_range(mean_c, latitude) == pytest.approx((low, high))


@pytest.mark.parametrize(("latitude", "doubted"), [("45", 0), ("12", 12)])
def test_little_evaporation_is_usual_in_a_cool_month_of_the_north_only(latitude, doubted):
    """0.8 mm/day at 10 °C: half of 1 and more at 45°, under half of 2 in the tropics."""
    cool = district(lat=latitude, tmin_c="4", tmax_c="16", eto_mm_day="0.8")
    assert sum("usual is" in warning.message for warning in cool.warnings) == doubted


def test_a_figure_is_set_against_the_temperatures_of_its_own_month():
    """Eq. 52 of April at 45° north: a month earlier the sun gives a quarter less."""
    need = 0.0023 * 40.8 * math.sqrt(12) * 0.408 * ra(APRIL, 45)
    odd = district({4: {"eto_mm_day": "2.2"}}, lat="45")
    said = [one.message for one in odd.warnings if one.line == 5 and "alone" in one.message]
    assert [f"ETo 2.2 mm/day, but {need:.1f} from temperature alone" in one for one in said] == [
        True
    ]


def test_a_doubt_names_its_file_and_line():
    odd = district({4: {"tmax_c": "20"}}, elev_m="")
    assert {str(one).partition(": ")[0] for one in odd.warnings} == {"t.csv:5", "t.csv:2"}
