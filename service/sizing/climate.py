"""Climate of a plot: reference evapotranspiration and rain, month by month and between months.

A district comes from a table that the deployment loads (see `district_table`); without one, a
plot card may give figures, or a class of FAO-56 Table 2 stands in with a warning.
"""

from __future__ import annotations

import datetime
import unicodedata
from calendar import monthrange
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import cos, pi, sin
from typing import Literal

from service.errors import LineProblem, OutOfRange, TextFileError
from service.sizing import eto
from service.sizing.district_rows import DistrictRows
from service.sizing.district_table import read_district_rows
from service.sizing.kc import lowest_humidity
from service.sizing.month_eto import MonthEto, MonthRecord, Place, month_eto
from service.sizing.month_limits import month_warnings

MONTHS = 12
MEAN_MONTH_DAYS = 365.25 / 12
Origin = Literal["district", "card", "class"]
Heat = Literal["cool", "mild", "hot"]

USUAL_ETO = {
    (False, "cool"): (2.0, 3.0),
    (False, "mild"): (3.0, 5.0),
    (False, "hot"): (5.0, 7.0),
    (True, "cool"): (2.0, 4.0),
    (True, "mild"): (4.0, 6.0),
    (True, "hot"): (6.0, 8.0),
}
"""Usual ETo [mm/day] of the tropics and subtropics by (dry, heat): mean day temperature about
10, 20 and above 30 °C; FAO-56 Table 2, p. 8 (read)."""

UNKNOWN_ETO_MM_DAY = USUAL_ETO[(False, "hot")][1]
"""Taken where nothing at all is known: a hot month of the humid tropics, upper end. On a public
grid of 1961-1990 normals at some 4,000 places of warm countries, 96 months of 100 lie below it."""


def _twelve(values: Sequence[float] | float) -> tuple[float, ...]:
    if isinstance(values, int | float):
        return (float(values),) * MONTHS
    if len(values) != MONTHS:
        raise OutOfRange("number of monthly values", len(values), MONTHS, MONTHS)
    return tuple(float(value) for value in values)


def effective_rain(month_mm: float) -> float:
    """Rain of a mean month that a plan may count on [mm/month].

    FAO/AGLW dependable rain: 0.6 P - 10 up to 70 mm, 0.8 P - 24 above, never below 0 (from
    memory, not verified). A mean month's rain comes in half of the years or fewer.
    """
    if month_mm <= 70:
        return max(0.0, 0.6 * month_mm - 10)
    return 0.8 * month_mm - 24


def soaked_rain(month_mm: float) -> float:
    """Share of a month's rain that stays in the roots' reach [mm/month].

    P (125 - 0.2 P)/125 up to 250 mm, 125 + 0.1 P above: the simple form of the Soil Conservation
    Service (read in the CRAN package FAO56 1.0; FAO-46 from memory). For rain that was measured,
    or that is already the dependable one.
    """
    if month_mm <= 250:
        return month_mm * ((125 - 0.2 * month_mm) / 125)
    return 125 + 0.1 * month_mm


@dataclass(frozen=True, slots=True)
class Climate:
    """Twelve months, January first.

    Attributes
    ----------
    eto_mm_day : tuple of float
        Reference evapotranspiration [mm/day].
    rain_mm_day : tuple of float
        Rain of a mean month [mm/day].
    effective_mm_day : tuple of float
        Rain that a plan counts on [mm/day].
    origin : str
        district, card, or class (nothing known of the place).
    wind_2m, humidity_min_pct : tuple of float or None
        Wind at 2 m [m/s] and lowest humidity [%], where the table knows both in all months.
    """

    eto_mm_day: tuple[float, ...]
    rain_mm_day: tuple[float, ...]
    effective_mm_day: tuple[float, ...]
    origin: Origin
    wind_2m: tuple[float, ...] | None = None
    humidity_min_pct: tuple[float, ...] | None = None

    def eto_on(self, day: datetime.date) -> float:
        """Reference evapotranspiration of a day [mm/day], without steps between months.

        A sum of six waves through the twelve means, each made larger by what averaging over a
        month takes from it, so that every month keeps its mean (after Epstein, Journal of
        Climate 4, 1991: from memory, not verified). Not below 0.
        """
        return max(0.0, _wave(monthly_waves(self.eto_mm_day), year_phase(day)))

    def effective_rain_on(self, day: datetime.date) -> float:
        """Rain counted on that day [mm/day]: a straight line from mid-month to mid-month."""
        place = year_phase(day) * MONTHS - 0.5
        month = int(place // 1) % MONTHS
        share = place % 1
        after = (month + 1) % MONTHS
        return (1 - share) * self.effective_mm_day[month] + share * self.effective_mm_day[after]


def card_climate(
    eto_mm_day: float | Sequence[float], rain_mm_day: float | Sequence[float] = 0.0
) -> Climate:
    """Climate of figures given on a card, one for all year or twelve [mm/day].

    Raises
    ------
    OutOfRange
        A list that is not twelve long.
    """
    rain = _twelve(rain_mm_day)
    counted = tuple(effective_rain(mm * MEAN_MONTH_DAYS) / MEAN_MONTH_DAYS for mm in rain)
    return Climate(_twelve(eto_mm_day), rain, counted, "card")


def class_climate(dry: bool, heat: Heat) -> Climate:
    """Climate of which only the feel is known: upper end of its class, no rain counted."""
    return _flat(USUAL_ETO[(dry, heat)][1])


def unknown_climate() -> Climate:
    """Climate of a place of which nothing is known: `UNKNOWN_ETO_MM_DAY`, no rain counted."""
    return _flat(UNKNOWN_ETO_MM_DAY)


def _flat(eto_mm_day: float) -> Climate:
    return Climate((eto_mm_day,) * MONTHS, (0.0,) * MONTHS, (0.0,) * MONTHS, "class")


def year_phase(day: datetime.date) -> float:
    """Place of a day's noon in the year [0..1), each month one twelfth."""
    return (day.month - 1 + (day.day - 0.5) / monthrange(day.year, day.month)[1]) / MONTHS


@lru_cache(maxsize=512)
def monthly_waves(means: tuple[float, ...]) -> tuple[tuple[float, float], ...]:
    """Cosine and sine amplitudes for waves 0 to 6 through twelve monthly means."""
    waves = []
    for k in range(MONTHS // 2 + 1):
        angle = [2 * pi * k * (month + 0.5) / MONTHS for month in range(MONTHS)]
        scale = (1 if k in (0, MONTHS // 2) else 2) / MONTHS
        damping = sin(pi * k / MONTHS) / (pi * k / MONTHS) if k else 1.0
        cosine = scale * sum(v * cos(a) for v, a in zip(means, angle, strict=True))
        sine = scale * sum(v * sin(a) for v, a in zip(means, angle, strict=True))
        waves.append((cosine / damping, sine / damping))
    return tuple(waves)


def _wave(waves: Sequence[tuple[float, float]], phase: float) -> float:
    return sum(
        c * cos(2 * pi * k * phase) + s * sin(2 * pi * k * phase) for k, (c, s) in enumerate(waves)
    )


@dataclass(frozen=True, slots=True)
class District:
    """A place with its twelve months, and how each month's ETo was obtained."""

    key: str
    name: str
    country: str
    place: Place
    records: tuple[MonthRecord, ...]
    eto: tuple[MonthEto, ...]
    climate: Climate
    warnings: tuple[LineProblem, ...] = ()

    @property
    def source(self) -> str:
        """Where the figures are from, each source once."""
        return "; ".join(dict.fromkeys(record.source for record in self.records if record.source))

    @property
    def period(self) -> str:
        """Years that the figures cover."""
        return "; ".join(dict.fromkeys(record.period for record in self.records if record.period))

    @property
    def only_temperature(self) -> bool:
        """Whether some month's ETo stands on temperature alone, which an answer must say."""
        return any(month.method == "eq. 52" for month in self.eto)


def read_districts(text: str, file_name: str) -> dict[str, District]:
    """Districts by key from a CSV table: a row a month, or a row a place (`tmin_c_01` ...).

    Doubtful figures are kept and named in each district's `warnings`.

    Raises
    ------
    TextFileError
        With every row that must be refused: nothing of the file is then used.
    """
    problems: list[LineProblem] = []
    districts: dict[str, District] = {}
    for rows in read_district_rows(text, file_name, problems):
        try:
            districts[rows.key] = _district(rows, file_name)
        except TextFileError as fault:
            problems.extend(fault.problems)
    if problems:
        raise TextFileError(sorted(problems, key=lambda problem: problem.line))
    return districts


def _district(rows: DistrictRows, file_name: str) -> District:
    problems: list[LineProblem] = []
    figures: list[MonthEto] = []
    for number, record in enumerate(rows.records):
        try:
            before, after = _neighbours(rows.records, number)
            figure = month_eto(record, rows.place, before, after)
        except ValueError as fault:
            problems.append(LineProblem(file_name, record.line, f"{rows.name}: {fault}"))
            continue
        if not eto.LOWEST_MONTH <= figure.value <= eto.HIGHEST_MONTH:
            problems.append(
                LineProblem(
                    file_name,
                    record.line,
                    f"{rows.name}, month {record.month}: ETo {figure.value:.2f} mm/day is outside "
                    f"{eto.LOWEST_MONTH:g}..{eto.HIGHEST_MONTH:g}",
                )
            )
        figures.append(figure)
    if problems:
        raise TextFileError(problems)
    warnings = month_warnings(rows, figures, file_name)
    climate = _district_climate(rows.records, figures)
    return District(
        rows.key, rows.name, rows.country, rows.place, rows.records, tuple(figures), climate,
        warnings,
    )  # fmt: skip


def _neighbours(records: Sequence[MonthRecord], number: int) -> tuple[float, float]:
    """Mean temperatures of the months before and after.

    An unknown one is taken as far from this month as the other, the other way: with that eq. 43
    gives what FAO-56 eq. 44 does where the next month is unknown.
    """
    before, here, after = (records[(number + step) % MONTHS].tmean_c for step in (-1, 0, 1))
    if here is None:
        return 0.0, 0.0
    if before is None:
        before = here if after is None else 2.0 * here - after
    if after is None:
        after = 2.0 * here - before
    return before, after


def _district_climate(records: Sequence[MonthRecord], figures: Sequence[MonthEto]) -> Climate:
    rain = tuple((record.rain_mm or 0.0) / MEAN_MONTH_DAYS for record in records)
    counted = tuple(_counted(record) / MEAN_MONTH_DAYS for record in records)
    weather = [figure.weather for figure in figures]
    known = [(w.wind_2m, lowest_humidity(w.tmax_c, w.ea)) for w in weather if w is not None]
    measured = [r.wind_m_s is not None and not _dew_point_filled(r) for r in records]
    wind, humidity = (
        tuple(zip(*known, strict=True)) if len(known) == MONTHS and all(measured) else (None, None)
    )
    return Climate(
        tuple(figure.value for figure in figures), rain, counted, "district", wind, humidity
    )


def _dew_point_filled(record: MonthRecord) -> bool:
    return record.ea_kpa is None and record.tdew_c is None and record.rh_mean_pct is None


def _counted(record: MonthRecord) -> float:
    if record.rain_dependable_mm is not None:
        return soaked_rain(record.rain_dependable_mm)
    return effective_rain(record.rain_mm or 0.0)


def find_districts(districts: Mapping[str, District], letters: str) -> tuple[District, ...]:
    """Districts whose name, or a word of it, begins with the letters sent; by name.

    Accents and case do not matter. Names that begin with the letters come before names of which
    only a later word does. Nothing typed finds all.
    """
    wanted = plain_letters(letters)
    found = []
    for district in districts.values():
        name = plain_letters(district.name)
        if name.startswith(wanted):
            found.append((0, name, district))
        elif any(word.startswith(wanted) for word in name.split()):
            found.append((1, name, district))
    return tuple(district for _, _, district in sorted(found, key=lambda f: (f[0], f[1])))


def plain_letters(text: str) -> str:
    """Text without accents, case and doubled spaces, for comparing names."""
    parts = unicodedata.normalize("NFKD", text.casefold())
    return " ".join("".join(c for c in parts if not unicodedata.combining(c)).split())
