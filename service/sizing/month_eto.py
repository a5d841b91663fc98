"""Reference evapotranspiration of one month of a district, from whatever is known of it.

The order of FAO-56 chapter 4 (read): a figure that was given wins; else equation 6, its gaps
filled by the paper's rules; equation 52 where nothing but temperature is known.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.sizing import eto

Method = Literal["given", "eq. 6", "eq. 52"]

DRY_MONTH_SHARE = 0.5
"""A month whose rain is under this share of ETo counts as dry for the dew point [-]: our reading
of "arid and semi-arid", after the usual aridity limit of one half (from memory, not verified)."""


@dataclass(frozen=True, slots=True)
class MonthRecord:
    """What a climate table says of one month; None is unknown. Units stand in the names."""

    line: int
    month: int
    tmin_c: float | None = None
    tmax_c: float | None = None
    rh_mean_pct: float | None = None
    ea_kpa: float | None = None
    tdew_c: float | None = None
    sun_h: float | None = None
    sun_pct: float | None = None
    rs_mj_m2_day: float | None = None
    wind_m_s: float | None = None
    wind_height_m: float | None = None
    rain_mm: float | None = None
    rain_dependable_mm: float | None = None
    wet_days: float | None = None
    eto_mm_day: float | None = None
    source: str = ""
    period: str = ""

    @property
    def tmean_c(self) -> float | None:
        """Mean temperature [°C]; FAO-56 eq. 9."""
        if self.tmin_c is None or self.tmax_c is None:
            return None
        return (self.tmin_c + self.tmax_c) / 2

    @property
    def only_temperature(self) -> bool:
        """Whether nothing that eq. 6 needs is known beside temperature."""
        known = (
            self.rh_mean_pct, self.ea_kpa, self.tdew_c, self.sun_h,
            self.sun_pct, self.rs_mj_m2_day, self.wind_m_s,
        )  # fmt: skip
        return all(value is None for value in known)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a district's figures hold: degrees (south and west negative), metres."""

    latitude: float | None
    longitude: float | None
    elevation: float | None
    coast: bool


@dataclass(frozen=True, slots=True)
class MonthEto:
    """Reference evapotranspiration of a month [mm/day] and how it was obtained.

    `filled` names each input that was estimated; `weather` holds what went into eq. 6.
    """

    value: float
    method: Method
    filled: tuple[str, ...] = ()
    weather: eto.Weather | None = None


def month_eto(record: MonthRecord, place: Place, before_c: float, after_c: float) -> MonthEto:
    """Reference evapotranspiration of a month.

    Parameters
    ----------
    record, place
        With a given ETo, or else with Tmin, Tmax and a latitude.
    before_c, after_c : float
        Mean temperature of the months on either side [°C], for the heat into the soil (eq. 43).

    Raises
    ------
    ValueError
        Neither ETo nor temperatures with a latitude are known.
    """
    if record.eto_mm_day is not None:
        return MonthEto(record.eto_mm_day, "given")
    if record.tmin_c is None or record.tmax_c is None or place.latitude is None:
        raise ValueError("eto_mm_day, or tmin_c, tmax_c and lat, must be given")
    day = eto.MID_MONTH_DAY[record.month - 1]
    from_temperature = eto.temperature_eto(record.tmin_c, record.tmax_c, place.latitude, day)
    if record.only_temperature:
        return MonthEto(from_temperature, "eq. 52", ("only temperature known",))
    filled: list[str] = []
    dry = record.rain_mm is not None and (
        record.rain_mm < DRY_MONTH_SHARE * 30.4 * from_temperature
    )
    weather = eto.Weather(
        tmin_c=record.tmin_c,
        tmax_c=record.tmax_c,
        ea=vapour_pressure(record, record.tmin_c, record.tmax_c, dry, filled),
        rs=_radiation(record, place, place.latitude, record.tmin_c, record.tmax_c, filled),
        wind_2m=_wind(record, filled),
        latitude=place.latitude,
        elevation=_elevation(place, filled),
        day_of_year=day,
        g=eto.monthly_soil_heat(before_c, after_c),
    )
    return MonthEto(eto.reference_eto(weather), "eq. 6", tuple(filled), weather)


def vapour_pressure(
    record: MonthRecord, tmin_c: float, tmax_c: float, dry: bool, filled: list[str]
) -> float:
    """Vapour pressure [kPa]: given, from the dew point, from humidity, or by eq. 48."""
    if record.ea_kpa is not None:
        return record.ea_kpa
    if record.tdew_c is not None:
        return eto.saturation_pressure(record.tdew_c)
    if record.rh_mean_pct is not None:
        return eto.vapour_pressure_mean_humidity(tmin_c, tmax_c, record.rh_mean_pct)
    filled.append(f"humidity: dew point {'2 °C under' if dry else 'at'} Tmin (eq. 48)")
    return eto.saturation_pressure(eto.estimated_dew_point(tmin_c, dry))


def _radiation(
    record: MonthRecord,
    place: Place,
    latitude: float,
    tmin_c: float,
    tmax_c: float,
    filled: list[str],
) -> float:
    if record.rs_mj_m2_day is not None:
        return record.rs_mj_m2_day
    day = eto.MID_MONTH_DAY[record.month - 1]
    ra = eto.extraterrestrial_radiation(latitude, day)
    if record.sun_h is not None:
        share = min(1.0, record.sun_h / eto.daylight_hours(latitude, day))
        return eto.radiation_from_sunshine(share, ra)
    if record.sun_pct is not None:
        return eto.radiation_from_sunshine(record.sun_pct / 100, ra)
    filled.append(f"sunshine: from Tmax - Tmin, {'coast' if place.coast else 'inland'} (eq. 50)")
    rso = eto.clear_sky_radiation(ra, place.elevation or 0.0)
    return eto.radiation_from_temperature(tmin_c, tmax_c, ra, rso, place.coast)


def _wind(record: MonthRecord, filled: list[str]) -> float:
    if record.wind_m_s is None:
        filled.append("wind: 2 m/s, the world's mean (p. 63)")
        return eto.WORLD_MEAN_WIND
    if record.wind_height_m is None:
        filled.append("height of the wind: taken as 2 m")
        return record.wind_m_s
    return eto.wind_at_2_m(record.wind_m_s, record.wind_height_m)


def _elevation(place: Place, filled: list[str]) -> float:
    if place.elevation is None:
        filled.append("elevation: taken as sea level")
        return 0.0
    return place.elevation
