"""Reference evapotranspiration against the worked examples of FAO-56, and against a library."""

import csv
import math
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pyet
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import OutOfRange
from service.sizing import eto

DATA = Path(__file__).parents[1] / "data"


def table(name):
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


EXAMPLES = {row["id"]: row for row in table("fao56_examples.csv")}

RA_8 = eto.extraterrestrial_radiation(-20, 246)
RA_10 = eto.extraterrestrial_radiation(-22.90, 135)
RS_10 = eto.radiation_from_sunshine(220 / 31 / eto.daylight_hours(-22.90, 135), RA_10)
RNL_11 = eto.net_longwave(19.1, 25.1, 2.1, RS_10, 0.75 * RA_10)

RA_16 = eto.extraterrestrial_radiation(13.73, 105)
RS_16 = eto.radiation_from_temperature(25.6, 34.8, RA_16, 0.75 * RA_16, coast=True)

RS_17 = eto.radiation_from_sunshine(8.5 / eto.daylight_hours(13.73, 105), RA_16)
BANGKOK = eto.Weather(25.6, 34.8, 2.85, RS_17, 2.0, 13.73, 2.0, 105, g=0.14)

EA_18 = eto.vapour_pressure_humidity_range(12.3, 21.5, 84, 63)
RA_18 = eto.extraterrestrial_radiation(50.80, 187)
RS_18 = eto.radiation_from_sunshine(9.25 / eto.daylight_hours(50.80, 187), RA_18)
WIND_18 = eto.wind_at_2_m(10 / 3.6, 10)
UCCLE = eto.Weather(12.3, 21.5, EA_18, RS_18, WIND_18, 50.80, 100.0, 187)

RA_15 = eto.extraterrestrial_radiation(45.72, 196)
RSO_15 = eto.clear_sky_radiation(RA_15, 200)
RS_15 = eto.radiation_from_temperature(14.8, 26.6, RA_15, RSO_15, coast=False)


def lyon(wind):
    ea = eto.saturation_pressure(eto.estimated_dew_point(14.8, dry=False))
    return eto.reference_eto(eto.Weather(14.8, 26.6, ea, RS_15, wind, 45.72, 200.0, 196))


COMPUTED = {
    "1": 15 * 0.80 * eto.MM_PER_MJ,
    "2a": eto.air_pressure(1800),
    "2b": eto.psychrometric_constant(eto.air_pressure(1800)),
    "3a": eto.saturation_pressure(24.5),
    "3b": eto.saturation_pressure(15),
    "3c": eto.mean_saturation_pressure(15, 24.5),
    "4": eto.vapour_pressure_wet_bulb(25.6, 19.5, eto.air_pressure(1200)),
    "5a": eto.vapour_pressure_humidity_range(18, 25, 82, 54),
    "5b": eto.vapour_pressure_mean_humidity(18, 25, 68),
    "6": eto.mean_saturation_pressure(18, 25) - eto.vapour_pressure_humidity_range(18, 25, 82, 54),
    "7a": math.radians(13 + 44 / 60),
    "7b": math.radians(-(22 + 54 / 60)),
    "8a": eto.inverse_relative_distance(246),
    "8b": eto.solar_declination(246),
    "8c": eto.sunset_hour_angle(-20, 246),
    "8d": RA_8,
    "8e": RA_8 * eto.MM_PER_MJ,
    "9": eto.daylight_hours(-20, 246),
    "10a": RA_10,
    "10b": eto.daylight_hours(-22.90, 135),
    "10c": RS_10,
    "11": RNL_11,
    "12": eto.net_shortwave(RS_10) - RNL_11,
    "13": eto.monthly_soil_heat(14.1, 18.8),
    "14": eto.wind_at_2_m(3.2, 10),
    "15a": RA_15,
    "15b": RS_15,
    "16a": RS_16,
    "16b": eto.net_shortwave(RS_16) - eto.net_longwave(25.6, 34.8, 2.85, RS_16, 0.75 * RA_16),
    "17a": eto.saturation_slope(30.2),
    "17b": eto.psychrometric_constant(eto.air_pressure(2)),
    "17c": eto.mean_saturation_pressure(25.6, 34.8),
    "17d": RA_16,
    "17e": eto.daylight_hours(13.73, 105),
    "17f": RS_17,
    "17g": eto.net_radiation(BANGKOK),
    "17h": eto.monthly_soil_heat_without_next(29.2, 30.2),
    "17i": eto.reference_eto(BANGKOK),
    "18a": WIND_18,
    "18b": EA_18,
    "18c": RA_18,
    "18d": eto.daylight_hours(50.80, 187),
    "18e": RS_18,
    "18f": eto.net_radiation(UCCLE),
    "18g": eto.reference_eto(UCCLE),
    "20_u1": lyon(1),
    "20_u2": lyon(2),
    "20_u3": lyon(3),
    "20_h": eto.temperature_eto(14.8, 26.6, 45.72, 196),
}


@pytest.mark.parametrize("name", COMPUTED)
def test_worked_example_of_fao_56(name):
    """Examples 1 to 20 as printed; each row of the table says its page and why its tolerance."""
    row = EXAMPLES[name]
    printed, tolerance = float(row["published"]), float(row["tolerance"])
    assert COMPUTED[name] == pytest.approx(printed, abs=tolerance), row["quantity"]


def test_every_example_of_the_first_twenty_is_checked():
    # "7-1a" is of Annex 7 and stands in test_kc.py.
    numbered = {name: re.fullmatch(r"(\d+)(_\w+|[a-z])?", name) for name in EXAMPLES}
    first_twenty = {name for name, match in numbered.items() if match and int(match[1]) <= 20}
    assert first_twenty == set(COMPUTED)


@pytest.mark.parametrize("row", table("fao56_figure18_cabinda.csv"), ids=lambda row: row["month"])
def test_printed_year_of_a_station(row):
    """
    FAO-56 Figure 18, p. 69: Cabinda, twelve months, printed to 0.1 mm/day.

    The inputs are rounded (0.1 h of sun, whole km of wind), and how that program took G is not
    printed, so 0.2 mm/day and 0.2 MJ are the closest honest claim.
    """
    months = {r["month"]: r for r in table("fao56_figure18_cabinda.csv")}
    month = int(row["month"])
    day = eto.MID_MONTH_DAY[month - 1]
    tmin, tmax, latitude = float(row["tmin_c"]), float(row["tmax_c"]), float(row["lat"])
    ra = eto.extraterrestrial_radiation(latitude, day)
    share = float(row["sunshine_h"]) / eto.daylight_hours(latitude, day)
    rs = eto.radiation_from_sunshine(share, ra)

    def mean(number):
        other = months[str((number - 1) % 12 + 1)]
        return (float(other["tmin_c"]) + float(other["tmax_c"])) / 2

    weather = eto.Weather(
        tmin,
        tmax,
        eto.vapour_pressure_mean_humidity(tmin, tmax, float(row["rh_mean_pct"])),
        rs,
        float(row["wind_km_day"]) / 86.4,
        latitude,
        float(row["elev_m"]),
        day,
        g=eto.monthly_soil_heat(mean(month - 1), mean(month + 1)),
    )
    assert rs == pytest.approx(float(row["rs_published_mj"]), abs=0.2)
    assert eto.reference_eto(weather) == pytest.approx(float(row["eto_published_mm_day"]), abs=0.2)


@pytest.mark.parametrize("row", table("eto_library_check.csv"), ids=lambda r: r["station"][:8])
def test_station_months_against_a_library(row):
    """132 station-months, ETo by pyet 1.5.0 to four decimals, kept beside the inputs."""
    number = {key: float(value) for key, value in row.items() if key not in ("station", "country")}
    day = int(number["day_of_year"])
    ra = eto.extraterrestrial_radiation(number["lat"], day)
    tmin, tmax = number["tmin_c"], number["tmax_c"]
    weather = eto.Weather(
        tmin,
        tmax,
        eto.vapour_pressure_mean_humidity(tmin, tmax, number["rh_mean_pct"]),
        eto.radiation_from_sunshine(number["sun_pct"] / 100, ra),
        eto.wind_at_2_m(number["wind10_m_s"], 10),
        number["lat"],
        number["elev_m"],
        day,
        g=number["g_mj"],
    )
    assert eto.reference_eto(weather) == pytest.approx(number["eto_pm_pyet"], rel=0.005)
    by_temperature = eto.temperature_eto(tmin, tmax, number["lat"], day)
    assert by_temperature == pytest.approx(number["hargreaves_eq52"], abs=0.001)


@pytest.mark.parametrize(("latitude", "elevation"), [(-11.2, 1420.0), (27.0, 60.0), (47.0, 400.0)])
def test_a_year_of_daily_weather_against_a_library(latitude, elevation):
    """A made-up year of daily weather: pyet's FAO-56 form within 0.5 % on every day."""
    days = np.arange(1, 366)
    random = np.random.default_rng(20261125)
    season = np.sin(2 * np.pi * (days - 100) / 365)
    tmin = 14 + 5 * season + random.normal(0, 1.5, 365)
    tmax = tmin + 4 + 8 * random.random(365)
    humidity = 40 + 50 * random.random(365)
    wind = 0.6 + 4 * random.random(365)
    share = random.random(365)
    ours, energy = [], []
    for i, day in enumerate(days):
        ra = eto.extraterrestrial_radiation(latitude, int(day))
        ea = eto.vapour_pressure_mean_humidity(tmin[i], tmax[i], humidity[i])
        energy.append(eto.radiation_from_sunshine(share[i], ra))
        ours.append(
            eto.reference_eto(
                eto.Weather(tmin[i], tmax[i], ea, energy[i], wind[i], latitude, elevation, int(day))
            )
        )
    index = pd.date_range("2025-01-01", periods=365)
    theirs = pyet.pm_fao56(
        pd.Series((tmin + tmax) / 2, index),
        pd.Series(wind, index),
        rs=pd.Series(energy, index),
        tmax=pd.Series(tmax, index),
        tmin=pd.Series(tmin, index),
        rh=pd.Series(humidity, index),
        elevation=elevation,
        lat=math.radians(latitude),
    )
    assert np.array(ours) == pytest.approx(theirs.to_numpy(), rel=0.005, abs=0.005)


def test_wind_below_half_a_metre_a_second_counts_as_that():
    """FAO-56 p. 63: not under 0.5 m/s in eq. 6."""
    still = eto.Weather(15, 28, 1.8, 18.0, 0.1, 5.0, 500.0, 100)
    breath = eto.Weather(15, 28, 1.8, 18.0, 0.5, 5.0, 500.0, 100)
    assert eto.reference_eto(still) == eto.reference_eto(breath)


def test_sunless_latitudes_are_refused():
    with pytest.raises(OutOfRange, match="latitude"):
        eto.extraterrestrial_radiation(70, 355)


@given(
    tmin=st.floats(-5, 30),
    span=st.floats(2, 20),
    humidity=st.floats(10, 100),
    sun=st.floats(0, 1),
    wind=st.floats(0, 10),
    latitude=st.floats(-60, 60),
    day=st.integers(1, 365),
)
def test_reference_eto_is_never_negative_nor_absurd(tmin, span, humidity, sun, wind, latitude, day):
    ra = eto.extraterrestrial_radiation(latitude, day)
    ea = eto.vapour_pressure_mean_humidity(tmin, tmin + span, humidity)
    rs = eto.radiation_from_sunshine(sun, ra)
    answer = eto.reference_eto(eto.Weather(tmin, tmin + span, ea, rs, wind, latitude, 500.0, day))
    assert 0 <= answer < 40


def test_more_light_than_a_clear_sky_sends_no_more_heat_back():
    """FAO-56 p. 52: Rs/Rso is at most 1, whatever an instrument says."""
    clear = eto.net_longwave(15, 28, 1.8, 25.0, 25.0)
    assert eto.net_longwave(15, 28, 1.8, 30.0, 25.0) == clear
    assert eto.net_longwave(15, 28, 1.8, 20.0, 25.0) < clear


def test_a_cold_month_by_temperature_alone_needs_less_than_a_millimetre():
    """Eq. 52 by hand, January at 45° north, 16.8 and 8 °C: 0.0023 x 16.8 x 2.83 x 0.408 Ra."""
    ra = eto.extraterrestrial_radiation(45, 15)
    by_hand = 0.0023 * (-1 + 17.8) * math.sqrt(8) * 0.408 * ra
    assert eto.temperature_eto(-5, 3, 45, 15) == pytest.approx(by_hand)
    assert 0.3 < by_hand < 0.7
