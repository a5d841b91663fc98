"""Climate tables in and out, and days between months."""

import datetime
from calendar import monthrange

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import OutOfRange, TextFileError
from service.sizing import eto
from service.sizing.climate import (
    Climate,
    card_climate,
    class_climate,
    effective_rain,
    find_districts,
    read_districts,
    soaked_rain,
    unknown_climate,
)

# An invented place, warm and half dry.
MONTHS = [
    {
        "district_id": "lim",
        "district_name": "Lim",
        "country": "ZZ",
        "lat": "-11.5",
        "lon": "34",
        "elev_m": "900",
        "coast": "no",
        "month": str(month),
        "tmin_c": "17",
        "tmax_c": "29",
        "rh_mean_pct": "60",
        "ea_kpa": "",
        "tdew_c": "",
        "sun_h": "7.5",
        "sun_pct": "",
        "rs_mj_m2_day": "",
        "wind_m_s": "2.4",
        "wind_height_m": "10",
        "rain_mm": "60",
        "rain_dependable_mm": "",
        "wet_days": "6",
        "eto_mm_day": "",
        "source": "invented",
        "period": "invented",
    }
    for month in range(1, 13)
]


def table(changes=None, every=None, drop=()):
    """CSV text of the invented place; `changes` by month, `every` for all months."""
    rows = [
        dict(row) | (every or {}) | (changes or {}).get(int(row["month"]), {}) for row in MONTHS
    ]
    heading = [name for name in rows[0] if name not in drop]
    return "\n".join([",".join(heading)] + [",".join(r[n] for n in heading) for r in rows])


def district(**kwargs):
    return read_districts(table(**kwargs), "d.csv")["lim"]


EMPTY = dict.fromkeys(("rh_mean_pct", "sun_h", "wind_m_s", "wind_height_m"), "")


def test_a_given_figure_wins():
    lim = district(changes={3: {"eto_mm_day": "5.5"}})
    assert lim.eto[2].value == 5.5
    assert lim.eto[2].method == "given"
    assert lim.eto[3].method == "eq. 6"


def test_full_data_go_through_equation_6():
    """The same month by the functions that the worked examples of FAO-56 hold to."""
    day, latitude = eto.MID_MONTH_DAY[0], -11.5
    ra = eto.extraterrestrial_radiation(latitude, day)
    rs = eto.radiation_from_sunshine(7.5 / eto.daylight_hours(latitude, day), ra)
    ea = eto.vapour_pressure_mean_humidity(17, 29, 60)
    wind = eto.wind_at_2_m(2.4, 10)
    month = district().eto[0]
    assert month.filled == ()
    assert month.value == pytest.approx(
        eto.reference_eto(eto.Weather(17, 29, ea, rs, wind, latitude, 900, day))
    )


def test_the_year_closes_when_heat_enters_the_soil():
    """FAO-56 eq. 43 between December and February: 0.07 (20 - 26) MJ/m2/day."""
    lim = district(
        changes={12: {"tmin_c": "20", "tmax_c": "32"}, 2: {"tmin_c": "14", "tmax_c": "26"}}
    )
    assert lim.eto[0].weather.g == pytest.approx(0.07 * (20 - 26))


@pytest.mark.parametrize(
    ("column", "filled"),
    [
        ("rh_mean_pct", "humidity: dew point at Tmin"),
        ("sun_h", "sunshine: from Tmax - Tmin, inland"),
        ("wind_m_s", "wind: 2 m/s"),
    ],
)
def test_each_gap_is_filled_by_the_paper_and_named(column, filled):
    month = district(every={column: "", "rain_mm": "110"}).eto[5]
    assert month.method == "eq. 6"
    assert [note.startswith(filled) for note in month.filled] == [True]


def test_the_dew_point_lies_lower_in_a_dry_month():
    """FAO-56 p. 58: 2 to 3 °C under Tmin in arid places."""
    dry = district(every={"rh_mean_pct": "", "rain_mm": "2"}).eto[5]
    wet = district(every={"rh_mean_pct": "", "rain_mm": "150"}).eto[5]
    assert dry.weather.ea == pytest.approx(eto.saturation_pressure(15))
    assert wet.weather.ea == pytest.approx(eto.saturation_pressure(17))


def test_temperature_alone_goes_through_equation_52_and_says_so():
    lim = district(every=EMPTY)
    assert lim.only_temperature
    assert lim.eto[6].value == pytest.approx(eto.temperature_eto(17, 29, -11.5, 196))
    assert lim.climate.wind_2m is None


def test_wind_and_humidity_are_kept_for_the_crop_coefficient():
    """FAO-56 eq. 63: RHmin from the vapour pressure of 60 % mean humidity and Tmax 29."""
    climate = district().climate
    assert climate.wind_2m[0] == pytest.approx(2.4 * 0.748, abs=0.001)  # eq. 47 at 10 m
    ea = eto.vapour_pressure_mean_humidity(17, 29, 60)
    assert climate.humidity_min_pct[0] == pytest.approx(100 * ea / eto.saturation_pressure(29))


def test_sources_are_kept():
    lim = district()
    assert lim.source == "invented"
    assert lim.period == "invented"


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"tmin_c": "30"}, "tmin_c 30 is above tmax_c 29"),
        ({"tmin_c": ""}, "tmin_c and tmax_c must both be given"),
        ({"lat": "67"}, "lat 67 is outside -66..66"),
        ({"eto_mm_day": "0.2"}, "eto_mm_day 0.2 is outside 0.3..13"),
        ({"eto_mm_day": "14"}, "eto_mm_day 14 is outside 0.3..13"),
        ({"rain_mm": "-1"}, "rain_mm -1 is outside 0..3000"),
        ({"rain_mm": "3001"}, "rain_mm 3001 is outside 0..3000"),
        ({"rh_mean_pct": "101"}, "rh_mean_pct 101 is outside 1..100"),
        ({"wind_m_s": "16"}, "wind_m_s 16 is outside 0..15"),
        ({"month": "13"}, "month 13 is outside 1..12"),
        ({"month": "5.5"}, "month: '5.5' is not 1 to 12"),
        ({"month": "3"}, "month 3 stood already in line 4"),
        ({"rain_mm": "nan"}, "rain_mm nan is outside"),
        ({"rain_mm": "12;5"}, "rain_mm: '12;5' is not a number"),
        ({"district_id": ""}, "district_id is empty"),
        ({"district_name": "Lam"}, "district_name 'Lam' differs from line 2"),
        ({"elev_m": "901"}, "elev_m 901 differs from line 2"),
    ],
)
def test_a_bad_row_is_refused_by_file_and_line(change, message):
    with pytest.raises(TextFileError, match=rf"d\.csv:7: .*{message}"):
        read_districts(table(changes={6: change}), "d.csv")


def test_the_place_of_a_coast_is_yes_or_no():
    with pytest.raises(TextFileError, match=r"d\.csv:2: coast: 'perhaps' is not yes or no"):
        read_districts(table(every={"coast": "perhaps"}), "d.csv")


def test_neither_eto_nor_temperature_is_refused():
    with pytest.raises(
        TextFileError, match=r"d\.csv:9: Lim: eto_mm_day, or tmin_c, tmax_c and lat"
    ):
        read_districts(table(changes={8: {"tmin_c": "", "tmax_c": ""}}), "d.csv")


def test_an_eto_that_comes_out_absurd_is_refused():
    storm = {"tmin_c": "30", "tmax_c": "48", "rh_mean_pct": "8", "wind_m_s": "15", "sun_h": "12"}
    with pytest.raises(TextFileError, match=r"d\.csv:4: Lim, month 3: ETo .* outside 0.3..13"):
        read_districts(table(changes={3: storm}), "d.csv")


def test_a_month_that_is_missing_is_named():
    text = "\n".join(line for line in table().splitlines() if ",no,7," not in line)
    with pytest.raises(TextFileError, match=r"d\.csv:2: Lim: month 7 missing"):
        read_districts(text, "d.csv")


def test_every_problem_is_told_at_once():
    with pytest.raises(TextFileError) as caught:
        read_districts(table(changes={2: {"rain_mm": "x"}, 9: {"wind_m_s": "99"}}), "d.csv")
    assert [problem.line for problem in caught.value.problems] == [2, 3, 10]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "column 'district_id' is missing"),
        (table(drop=["month"]), "column 'month' is missing"),
        (table().replace("rain_mm,", "rain_mn,"), "unknown column 'rain_mn'; did you mean rain_mm"),
        (table().replace("tdew_c", "ea_kpa"), "column 'ea_kpa' stands twice"),
        (table() + "\nlim,Lim", r"d\.csv:14: 2 values under 24 headings"),
        (table().splitlines()[0], "the table holds no district"),
    ],
)
def test_a_broken_table_is_refused(text, message):
    with pytest.raises(TextFileError, match=message):
        read_districts(text, "d.csv")


@pytest.mark.parametrize(
    ("kwargs", "doubt"),
    [
        ({"changes": {4: {"tmax_c": "20"}}}, "Tmax - Tmin of 3.0 °C is unusual"),
        ({"changes": {4: {"eto_mm_day": "11.5"}}}, "ETo 11.5 mm/day at 23 °C; usual is"),
        ({"changes": {4: {"wind_height_m": ""}}}, "wind_height_m is empty; 2 m is taken"),
        ({"changes": {4: {"rain_mm": ""}}}, "rain_mm is empty; no rain is counted"),
        ({"changes": {4: {"rain_dependable_mm": "70"}}}, "rain_dependable_mm is above rain_mm"),
        ({"changes": {4: {"eto_mm_day": "2.2"}}}, "from temperature alone"),
        ({"every": {"elev_m": ""}}, "elev_m is empty; sea level is taken"),
    ],
)
def test_a_doubtful_figure_is_kept_and_named(kwargs, doubt):
    warnings = district(**kwargs).warnings
    assert any(doubt in warning.message for warning in warnings), warnings
    if "changes" in kwargs:
        assert {warning.line for warning in warnings if doubt in warning.message} == {5}


def test_a_sound_table_raises_no_doubt():
    assert district().warnings == ()


def test_remarks_blank_lines_and_a_byte_order_mark_are_passed_over():
    text = "\ufeff# an invented place\n" + table() + "\n\n# the end\n"
    assert read_districts(text, "d.csv")["lim"].records[0].line == 3


def test_a_row_a_place_says_the_same_as_a_row_a_month():
    long = district()
    values = {"tmin_c": "17", "tmax_c": "29", "rh_pct": "60", "wind10_m_s": "2.4", "rain_mm": "60"}
    heading = [f"{name}_{month:02d}" for name in values for month in range(1, 13)]
    row = [value for value in values.values() for _ in range(12)]
    text = (
        f"station_id,name,country,lat,lon,elev_m,{','.join(heading)}\n"
        f"lim,Lim,ZZ,-11.5,34,900,{','.join(row)}"
    )
    wide = read_districts(text, "w.csv")["lim"]
    assert wide.place == long.place
    assert [m.wind_m_s for m in wide.records] == [m.wind_m_s for m in long.records]
    assert wide.eto == district(every={"sun_h": ""}).eto


@pytest.mark.parametrize(
    ("letters", "names"),
    [
        ("lo", ["Lower Sén", "Loé"]),
        ("LOE", ["Loé"]),
        ("se", ["Sena", "Lower Sén"]),
        ("x", []),
        ("", ["Lower Sén", "Loé", "Sena"]),
    ],
)
def test_districts_are_found_by_their_first_letters(letters, names):
    rows = [
        f"{n},{name},{month},5"
        for n, name in enumerate(("Loé", "Lower Sén", "Sena"))
        for month in range(1, 13)
    ]
    text = "\n".join(["district_id,district_name,month,eto_mm_day", *rows])
    found = find_districts(read_districts(text, "d.csv"), letters)
    assert [d.name for d in found] == sorted(
        names, key=lambda n: (not n.casefold().startswith(letters.casefold()), n.replace("é", "e"))
    )


@pytest.mark.parametrize(("month_mm", "counted"), [(0, 0), (10, 0), (50, 20), (70, 32), (200, 136)])
def test_rain_that_a_plan_counts_on(month_mm, counted):
    """FAO/AGLW dependable rain, from memory: 0.6 P - 10, and 0.8 P - 24 above 70 mm."""
    assert effective_rain(month_mm) == pytest.approx(counted)


def test_the_two_branches_of_dependable_rain_meet():
    """32 mm at 70 mm from either side: public code has been seen with the branches swapped."""
    assert effective_rain(70 + 1e-9) == pytest.approx(effective_rain(70), abs=1e-6)


@pytest.mark.parametrize(
    ("month_mm", "kept"), [(50, 46), (100, 84), (200, 136), (250, 150), (300, 155)]
)
def test_rain_that_stays(month_mm, kept):
    """Simple form of the Soil Conservation Service, read in the CRAN package FAO56 1.0."""
    assert soaked_rain(month_mm) == pytest.approx(kept)


@given(st.floats(0, 3000))
def test_no_formula_counts_more_rain_than_fell(month_mm):
    assert 0 <= effective_rain(month_mm) <= month_mm
    assert 0 <= soaked_rain(month_mm) <= month_mm


MEANS = st.lists(st.floats(1.5, 9), min_size=12, max_size=12)


@given(MEANS)
def test_every_month_keeps_its_mean(means):
    """Twelve means may be as ragged as they like; sums of a month's days come back to 0.5 %."""
    climate = card_climate(means)
    days = [datetime.date(2025, 1, 1) + datetime.timedelta(days=n) for n in range(365)]
    if min(climate.eto_on(day) for day in days) == 0:
        return  # Cut off at zero, which real normals never come near.
    for month in range(1, 13):
        length = monthrange(2025, month)[1]
        total = sum(climate.eto_on(datetime.date(2025, month, d)) for d in range(1, length + 1))
        assert total / length == pytest.approx(means[month - 1], rel=0.005, abs=0.02)


def test_days_change_without_steps_and_the_year_closes():
    """An invented year between 3 and 7 mm/day: no day differs from the next by 0.1 mm."""
    climate = card_climate([3.4, 3.5, 3.9, 4.6, 5.5, 6.6, 7.0, 6.7, 5.7, 4.7, 3.9, 3.5])
    day = datetime.date(2024, 1, 1)
    for _ in range(366):
        after = day + datetime.timedelta(days=1)
        assert abs(climate.eto_on(after) - climate.eto_on(day)) < 0.1
        day = after


def test_the_same_figure_all_year_stays_the_same_every_day():
    climate = card_climate(5, 2)
    assert climate.eto_on(datetime.date(2024, 2, 29)) == pytest.approx(5)
    # 2 mm/day is 60.9 mm a month, of which 0.6 P - 10 counts.
    assert climate.effective_rain_on(datetime.date(2024, 2, 29)) == pytest.approx(0.871, abs=0.001)


@given(MEANS, st.dates(datetime.date(2020, 1, 1), datetime.date(2030, 1, 1)))
def test_rain_of_a_day_lies_between_its_months(rain, day):
    climate = Climate((5.0,) * 12, tuple(rain), tuple(rain), "card")
    assert min(rain) - 1e-9 <= climate.effective_rain_on(day) <= max(rain) + 1e-9


def test_a_climate_unknown_is_said_to_be_so():
    """Upper ends of FAO-56 Table 2, p. 8."""
    assert unknown_climate().origin == "class"
    assert unknown_climate().eto_mm_day == (7.0,) * 12
    assert class_climate(dry=True, heat="hot").eto_mm_day[0] == 8
    assert class_climate(dry=False, heat="mild").eto_mm_day[0] == 5


def test_a_list_must_be_twelve_long():
    with pytest.raises(OutOfRange, match="number of monthly values 11"):
        card_climate([5.0] * 11)
