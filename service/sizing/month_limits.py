"""What is refused and what is doubted in a climate table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.errors import LineProblem
from service.sizing import eto
from service.sizing.district_rows import DistrictRows
from service.sizing.month_eto import MonthEto, MonthRecord

LIMITS: dict[str, tuple[float, float]] = {
    "lat": (-eto.HIGHEST_LATITUDE, eto.HIGHEST_LATITUDE),
    "lon": (-180, 360),
    "elev_m": (-450, 6000),
    "month": (1, 12),
    "tmin_c": (-60, 60),
    "tmax_c": (-60, 60),
    "rh_mean_pct": (1, 100),
    "ea_kpa": (0, 8),
    "tdew_c": (-60, 40),
    "sun_h": (0, 24),
    "sun_pct": (0, 100),
    "rs_mj_m2_day": (0, 45),
    "wind_m_s": (0, 15),
    "wind_height_m": (0.5, 100),
    "rain_mm": (0, 3000),
    "rain_dependable_mm": (0, 3000),
    "wet_days": (0, 31),
    "eto_mm_day": (eto.LOWEST_MONTH, eto.HIGHEST_MONTH),
}
"""Lowest and highest value taken for each number of a climate table; our choice."""

DAY_RANGE_C = (4.0, 22.0)
"""Tmax - Tmin of a month beyond which a figure is doubted [°C]; our choice."""
CLASS_MARGIN = 0.5
"""Part by which ETo may leave the range of FAO-56 Table 2 before it is doubted; our choice."""
FORMULAS_APART = 0.4
"""Part by which eqs 6 and 52 may differ before a figure is doubted; our choice."""

# FAO-56 Table 2 (p. 8, read): humid low end and arid high end at mean day temperatures of about
# 10, 20 and above 30 °C.
_TROPICS = ((10, 2.0, 4.0), (20, 3.0, 6.0), (30, 5.0, 8.0))
_TEMPERATE = ((10, 1.0, 3.0), (20, 2.0, 7.0), (30, 4.0, 9.0))
_TROPIC_LATITUDE = 23.44


def month_warnings(
    rows: DistrictRows, figures: Sequence[MonthEto], file_name: str
) -> tuple[LineProblem, ...]:
    """Each doubtful figure of a district, by line; nothing here stops a table."""
    return tuple(
        LineProblem(file_name, record.line, f"{rows.name}, month {record.month}: {doubt}")
        for record, figure in zip(rows.records, figures, strict=True)
        for doubt in _doubts(record, figure, rows.place.latitude)
    ) + _place_warnings(rows, file_name)


def _place_warnings(rows: DistrictRows, file_name: str) -> tuple[LineProblem, ...]:
    if rows.place.elevation is not None or all(r.eto_mm_day is not None for r in rows.records):
        return ()
    message = f"{rows.name}: elev_m is empty; sea level is taken"
    return (LineProblem(file_name, rows.records[0].line, message),)


def _doubts(record: MonthRecord, figure: MonthEto, latitude: float | None) -> Iterator[str]:
    if record.tmin_c is not None and record.tmax_c is not None:
        span = record.tmax_c - record.tmin_c
        if not DAY_RANGE_C[0] <= span <= DAY_RANGE_C[1]:
            yield f"Tmax - Tmin of {span:.1f} °C is unusual (4 to 22)"
        yield from _class_doubt(record.tmean_c, figure.value, latitude)
        yield from _formula_doubt(record, figure, latitude)
    if record.wind_m_s is not None and record.wind_height_m is None:
        yield "wind_height_m is empty; 2 m is taken"
    if record.rain_mm is None:
        yield "rain_mm is empty; no rain is counted"
    elif record.rain_dependable_mm is not None and record.rain_dependable_mm > record.rain_mm:
        yield "rain_dependable_mm is above rain_mm"


def _class_doubt(tmean_c: float | None, value: float, latitude: float | None) -> Iterator[str]:
    if tmean_c is None:
        return
    low, high = usual_range(tmean_c, latitude)
    if not low * (1 - CLASS_MARGIN) <= value <= high * (1 + CLASS_MARGIN):
        yield f"ETo {value:.1f} mm/day at {tmean_c:.0f} °C; usual is {low:.1f} to {high:.1f}"


def _formula_doubt(record: MonthRecord, figure: MonthEto, latitude: float | None) -> Iterator[str]:
    if latitude is None or record.tmin_c is None or record.tmax_c is None:
        return
    if figure.method == "eq. 52":
        return
    day = eto.MID_MONTH_DAY[record.month - 1]
    other = eto.temperature_eto(record.tmin_c, record.tmax_c, latitude, day)
    if abs(other - figure.value) > FORMULAS_APART * figure.value:
        yield f"ETo {figure.value:.1f} mm/day, but {other:.1f} from temperature alone (eq. 52)"


def usual_range(tmean_c: float, latitude: float | None) -> tuple[float, float]:
    """Usual ETo [mm/day] at a mean temperature, humid low end to arid high end; Table 2."""
    tropical = latitude is None or abs(latitude) <= _TROPIC_LATITUDE
    table = _TROPICS if tropical else _TEMPERATE
    warmth = min(30.0, max(10.0, tmean_c))
    first, second = (table[0], table[1]) if warmth <= 20 else (table[1], table[2])
    share = (warmth - first[0]) / 10
    return tuple(a + share * (b - a) for a, b in zip(first[1:], second[1:], strict=True))  # type: ignore[return-value]
