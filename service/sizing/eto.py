"""Reference evapotranspiration of a day or a month: FAO-56 equations 6 to 52.

Pure arithmetic in the units of the paper: °C, kPa, MJ/m²/day, m/s, mm/day (1 mm is 1 litre on
1 m²). Equation numbers and pages are those of Allen, Pereira, Raes and Smith, "Crop
evapotranspiration", FAO Irrigation and Drainage Paper 56, Rome 1998 (read).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, cos, exp, log, pi, radians, sin, sqrt, tan

from service.errors import OutOfRange

ALBEDO = 0.23
"""Share of sunlight that the reference grass throws back [-]; FAO-56 eq. 38."""
MM_PER_MJ = 0.408
"""Depth of water [mm] evaporated by 1 MJ on 1 m²; FAO-56 eq. 20."""
SOLAR_CONSTANT = 0.0820
"""[MJ/m²/min]; FAO-56 eq. 21."""
STEFAN_BOLTZMANN = 4.903e-9
"""[MJ/K⁴/m²/day]; FAO-56 eq. 39."""
WORLD_MEAN_WIND = 2.0
"""Wind at 2 m [m/s] taken where none was measured; FAO-56 p. 63."""
LEAST_WIND = 0.5
"""Wind at 2 m [m/s] below which eq. 6 is not used; FAO-56 p. 63."""
INLAND_KRS, COAST_KRS = 0.16, 0.19
"""Factor of eq. 50 [°C^-0.5]; FAO-56 p. 60."""
HIGHEST_LATITUDE = 66.0
"""Beyond it the sun may not set and eq. 25 has no answer [degrees]."""

LOWEST_MONTH, HIGHEST_MONTH = 0.3, 13.0
"""ETo of a month outside this [mm/day] is taken for an error: our choice; a public grid of normals
at some 4,000 places of warm countries spans 0.4 to 12.1."""

MID_MONTH_DAY = (15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349)
"""Day of the year of the 15th of each month; FAO-56 p. 47: within 1 % of the month's mean."""


def air_pressure(elevation_m: float) -> float:
    """Mean air pressure [kPa] at a height above the sea [m]; FAO-56 eq. 7."""
    return 101.3 * float(((293 - 0.0065 * elevation_m) / 293) ** 5.26)


def psychrometric_constant(pressure_kpa: float) -> float:
    """Psychrometric constant [kPa/°C]; FAO-56 eq. 8."""
    return 0.665e-3 * pressure_kpa


def saturation_pressure(temperature_c: float) -> float:
    """Vapour pressure of saturated air [kPa]; FAO-56 eq. 11."""
    return 0.6108 * exp(17.27 * temperature_c / (temperature_c + 237.3))


def mean_saturation_pressure(tmin_c: float, tmax_c: float) -> float:
    """Mean saturation pressure of a day [kPa]; FAO-56 eq. 12.

    Never the pressure at the mean temperature: the curve bends, and that would be too low.
    """
    return (saturation_pressure(tmax_c) + saturation_pressure(tmin_c)) / 2


def saturation_slope(temperature_c: float) -> float:
    """Slope of the saturation curve [kPa/°C]; FAO-56 eq. 13."""
    return 4098 * saturation_pressure(temperature_c) / (temperature_c + 237.3) ** 2


def vapour_pressure_wet_bulb(
    dry_c: float, wet_c: float, pressure_kpa: float, factor: float = 0.000662
) -> float:
    """Vapour pressure [kPa] from a dry and a wet bulb; FAO-56 eqs 15 and 16.

    `factor` [1/°C]: 0.000662 with 5 m/s of air, 0.0008 with 1 m/s, 0.0012 in still air.
    """
    return saturation_pressure(wet_c) - factor * pressure_kpa * (dry_c - wet_c)


def vapour_pressure_humidity_range(
    tmin_c: float, tmax_c: float, humidity_max_pct: float, humidity_min_pct: float
) -> float:
    """Vapour pressure [kPa] from the day's highest and lowest humidity; FAO-56 eq. 17."""
    return (
        saturation_pressure(tmin_c) * humidity_max_pct
        + saturation_pressure(tmax_c) * humidity_min_pct
    ) / 200


def vapour_pressure_humidity_max(tmin_c: float, humidity_max_pct: float) -> float:
    """Vapour pressure [kPa] where only the highest humidity is sure; FAO-56 eq. 18."""
    return saturation_pressure(tmin_c) * humidity_max_pct / 100


def vapour_pressure_mean_humidity(tmin_c: float, tmax_c: float, humidity_pct: float) -> float:
    """Vapour pressure [kPa] from mean humidity; FAO-56 eq. 19."""
    return humidity_pct / 100 * mean_saturation_pressure(tmin_c, tmax_c)


def estimated_dew_point(tmin_c: float, dry: bool) -> float:
    """Dew point [°C] where no humidity was measured; FAO-56 eq. 48.

    It is the lowest temperature of the day, less 2 °C in dry places (text p. 58: 2 to 3).
    """
    return tmin_c - 2.0 if dry else tmin_c


def _latitude(latitude_deg: float) -> float:
    if not -HIGHEST_LATITUDE <= latitude_deg <= HIGHEST_LATITUDE:
        raise OutOfRange(
            "latitude", latitude_deg, -HIGHEST_LATITUDE, HIGHEST_LATITUDE, "FAO-56 eq. 25"
        )
    return radians(latitude_deg)


def inverse_relative_distance(day_of_year: int) -> float:
    """Inverse relative distance from earth to sun [-]; FAO-56 eq. 23."""
    return 1 + 0.033 * cos(2 * pi * day_of_year / 365)


def solar_declination(day_of_year: int) -> float:
    """Declination of the sun [rad]; FAO-56 eq. 24."""
    return 0.409 * sin(2 * pi * day_of_year / 365 - 1.39)


def sunset_hour_angle(latitude_deg: float, day_of_year: int) -> float:
    """Hour angle of sunset [rad]; FAO-56 eq. 25.

    Raises
    ------
    OutOfRange
        Beyond 66 degrees of latitude.
    """
    return acos(-tan(_latitude(latitude_deg)) * tan(solar_declination(day_of_year)))


def extraterrestrial_radiation(latitude_deg: float, day_of_year: int) -> float:
    """Radiation above the air, Ra [MJ/m²/day]; FAO-56 eq. 21. Raises as `sunset_hour_angle`."""
    latitude = _latitude(latitude_deg)
    declination = solar_declination(day_of_year)
    sunset = sunset_hour_angle(latitude_deg, day_of_year)
    return (
        24
        * 60
        / pi
        * SOLAR_CONSTANT
        * inverse_relative_distance(day_of_year)
        * (
            sunset * sin(latitude) * sin(declination)
            + cos(latitude) * cos(declination) * sin(sunset)
        )
    )


def daylight_hours(latitude_deg: float, day_of_year: int) -> float:
    """Longest possible sunshine, N [h]; FAO-56 eq. 34."""
    return 24 / pi * sunset_hour_angle(latitude_deg, day_of_year)


def radiation_from_sunshine(sunshine_share: float, ra: float) -> float:
    """Solar radiation, Rs [MJ/m²/day], from sunshine n/N [-]; FAO-56 eq. 35."""
    return (0.25 + 0.50 * sunshine_share) * ra


def clear_sky_radiation(ra: float, elevation_m: float) -> float:
    """Solar radiation without clouds, Rso [MJ/m²/day]; FAO-56 eqs 36 and 37."""
    return (0.75 + 2e-5 * elevation_m) * ra


def radiation_from_temperature(
    tmin_c: float, tmax_c: float, ra: float, rso: float, coast: bool
) -> float:
    """Solar radiation, Rs [MJ/m²/day], where none was measured; FAO-56 eq. 50, at most Rso.

    Not for islands, where the sea hides the sun's share in the day's temperature range.
    """
    factor = COAST_KRS if coast else INLAND_KRS
    return min(rso, factor * sqrt(tmax_c - tmin_c) * ra)


def net_shortwave(rs: float) -> float:
    """Net short wave radiation [MJ/m²/day]; FAO-56 eq. 38."""
    return (1 - ALBEDO) * rs


def net_longwave(tmin_c: float, tmax_c: float, ea: float, rs: float, rso: float) -> float:
    """Net long wave radiation [MJ/m²/day]; FAO-56 eq. 39 (Rs/Rso at most 1).

    The paper says 273.16 here and 273 in eq. 6; both are kept as printed.
    """
    fourth_powers = ((tmax_c + 273.16) ** 4 + (tmin_c + 273.16) ** 4) / 2
    return (
        STEFAN_BOLTZMANN
        * fourth_powers
        * (0.34 - 0.14 * sqrt(ea))
        * (1.35 * min(1.0, rs / rso) - 0.35)
    )


def monthly_soil_heat(before_c: float, after_c: float) -> float:
    """Heat into the soil, G [MJ/m²/day], from the next-door months' means; FAO-56 eq. 43."""
    return 0.07 * (after_c - before_c)


def monthly_soil_heat_without_next(before_c: float, this_c: float) -> float:
    """Heat into the soil, G [MJ/m²/day], when the next month is unknown; FAO-56 eq. 44."""
    return 0.14 * (this_c - before_c)


def wind_at_2_m(wind_m_s: float, height_m: float) -> float:
    """Wind at 2 m [m/s] from wind at another height above grass [m]; FAO-56 eq. 47."""
    return wind_m_s * 4.87 / log(67.8 * height_m - 5.42)


@dataclass(frozen=True, slots=True)
class Weather:
    """What eq. 6 needs of one day or one month.

    Temperatures [°C], vapour pressure `ea` [kPa], radiation `rs` and soil heat `g` [MJ/m²/day],
    wind at 2 m [m/s], latitude [degrees, south negative], elevation [m].
    """

    tmin_c: float
    tmax_c: float
    ea: float
    rs: float
    wind_2m: float
    latitude: float
    elevation: float
    day_of_year: int
    g: float = 0.0

    @property
    def tmean_c(self) -> float:
        """Mean temperature [°C] by definition, not the mean of 24 hours; FAO-56 eq. 9."""
        return (self.tmin_c + self.tmax_c) / 2


def net_radiation(weather: Weather) -> float:
    """Net radiation, Rn [MJ/m²/day]; FAO-56 eq. 40."""
    ra = extraterrestrial_radiation(weather.latitude, weather.day_of_year)
    rso = clear_sky_radiation(ra, weather.elevation)
    return net_shortwave(weather.rs) - net_longwave(
        weather.tmin_c, weather.tmax_c, weather.ea, weather.rs, rso
    )


def penman_monteith(
    tmean_c: float,
    wind_2m: float,
    vapour_deficit: float,
    available_energy: float,
    slope: float,
    gamma: float,
) -> float:
    """Reference evapotranspiration [mm/day]; FAO-56 eq. 6 with its parts already known.

    `available_energy` is Rn - G [MJ/m²/day], `vapour_deficit` es - ea [kPa], `slope` and `gamma`
    [kPa/°C].
    """
    energy = MM_PER_MJ * slope * available_energy
    air = gamma * 900 / (tmean_c + 273) * wind_2m * vapour_deficit
    return (energy + air) / (slope + gamma * (1 + 0.34 * wind_2m))


def reference_eto(weather: Weather) -> float:
    """Reference evapotranspiration [mm/day] by FAO-56 eq. 6.

    Wind under 0.5 m/s is taken as 0.5 (p. 63). Not below zero: dew is not advice.

    Raises
    ------
    OutOfRange
        Beyond 66 degrees of latitude.
    """
    es = mean_saturation_pressure(weather.tmin_c, weather.tmax_c)
    answer = penman_monteith(
        weather.tmean_c,
        max(LEAST_WIND, weather.wind_2m),
        es - weather.ea,
        net_radiation(weather) - weather.g,
        saturation_slope(weather.tmean_c),
        psychrometric_constant(air_pressure(weather.elevation)),
    )
    return max(0.0, answer)


def temperature_eto(tmin_c: float, tmax_c: float, latitude_deg: float, day_of_year: int) -> float:
    """Reference evapotranspiration [mm/day] from temperatures alone; FAO-56 eq. 52.

    Low in wind above 3 m/s and high in humid air (p. 64). Ra enters in mm/day.
    """
    ra_mm = MM_PER_MJ * extraterrestrial_radiation(latitude_deg, day_of_year)
    mean = (tmin_c + tmax_c) / 2
    return max(0.0, 0.0023 * (mean + 17.8) * sqrt(tmax_c - tmin_c) * ra_mm)
