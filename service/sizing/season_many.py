"""Seasons of many plots at once, with NumPy: the same sums as `season.season`, plot by plot.

The only module of the core that imports NumPy; nothing on the way of a phone call needs it.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from service.sizing.climate import MONTHS, Climate, monthly_waves, year_phase
from service.sizing.kc import EVAPORATION_IN_KC_MID, SHADED_FROM_DRIP
from service.sizing.season import first_store, season_days
from service.sizing.soil_store import SEEDLING_ROOTS_M, SOIL_ON_P
from service.sizing.watering import Case, gross_litres, kc_curve

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

CHUNK = 4096
"""Plots a pass: the arrays of a pass then stay in the processor's cache [-]."""
NEVER = 1e9
"""A stage that begins so late does not begin [days]."""


WORKED_OUT = (
    "kc_initial", "kc_mid", "kc_end", "cover_power", "initial_end", "full_cover", "late_start",
    "late_days", "wetted", "available", "root_start", "root_full", "table_p", "soil_on_p",
    "beside_start",
)  # fmt: skip
"""What depends on crop, soil, climate and planting day, but not on the plot's area or supply."""


@dataclass(frozen=True, slots=True)
class Plots:
    """What the seasons of many plots depend on, one value a plot.

    `eto` and `rain` [mm/day] hold a row a climate, a column a date; `climate` points to the row
    and `first` to the column of the planting day. Stages: `initial_end`, `full_cover` and
    `late_start` [days]; an evergreen crop stands at full cover from day 0.
    """

    days: Whole
    climate: Whole
    first: Whole
    kc_initial: Floats
    kc_mid: Floats
    kc_end: Floats
    cover_power: Floats
    initial_end: Floats
    full_cover: Floats
    late_start: Floats
    late_days: Floats
    wetted: Floats
    available: Floats
    root_start: Floats
    root_full: Floats
    table_p: Floats
    soil_on_p: Floats
    beside_start: Floats
    litres_per_mm: Floats
    ky: Floats
    eto: Floats
    rain: Floats

    def part(self, chosen: Whole) -> Plots:
        """Only the chosen plots; the climate tables are shared."""
        shared = ("eto", "rain")
        values = {f.name: getattr(self, f.name) for f in fields(self)}
        return Plots(**{k: v if k in shared else v[chosen] for k, v in values.items()})


@dataclass(frozen=True, slots=True)
class Seasons:
    """Sums over the seasons, one value a plot; meanings as in `season.Season`, NaN for None."""

    days: Whole
    need_mm: Floats
    used_mm: Floats
    drip_mm: Floats
    lost_mm: Floats
    gross_litres: Floats
    peak_litres: Floats
    thirsty_days: Whole
    yield_share: Floats


def plots(cases: Sequence[Case]) -> Plots:
    """Arrays of many cases; cases that share crop, soil, climate and day are worked out once."""
    climates = {id(case.climate): case.climate for case in cases}
    rows = {key: row for row, key in enumerate(climates)}
    start = min(case.planted for case in cases)
    end = max(case.planted for case in cases) + datetime.timedelta(days=1000)
    known: dict[tuple[object, ...], tuple[float, ...]] = {}
    columns = np.array([_numbers(case, known) for case in cases], dtype=np.float64).T
    eto, rain = _daily(list(climates.values()), start, end)
    worked_out = {name: columns[place] for place, name in enumerate(WORKED_OUT, start=1)}
    return Plots(
        days=columns[0].astype(np.int64),
        climate=np.array([rows[id(case.climate)] for case in cases], dtype=np.int64),
        first=np.array([(case.planted - start).days for case in cases], dtype=np.int64),
        litres_per_mm=np.array([gross_litres(case, 1.0) for case in cases]),
        ky=np.array([np.nan if case.crop.ky is None else case.crop.ky for case in cases]),
        eto=eto,
        rain=rain,
        **worked_out,
    )


def _numbers(case: Case, known: dict[tuple[object, ...], tuple[float, ...]]) -> tuple[float, ...]:
    key = (
        case.crop.key,
        case.soil.key,
        id(case.climate),
        case.planted,
        case.wetted_fraction,
        case.interval_days,
    )
    if key not in known:
        known[key] = _case_numbers(case)
    return known[key]


def _case_numbers(case: Case) -> tuple[float, ...]:
    """Days, then the values of `WORKED_OUT` in their order."""
    curve, crop = kc_curve(case), case.crop
    stages = curve.stages
    initial, development = (stages.initial, stages.development) if stages else (-1.0, 1.0)
    late_starts = NEVER if stages is None or curve.holds else stages.total - stages.late
    root_start = min(SEEDLING_ROOTS_M, crop.root_min_m) if stages else crop.root_min_m
    return (
        season_days(case),
        curve.initial,
        curve.mid,
        curve.end,
        1.0 if curve.cover_power is None else curve.cover_power,
        initial,
        initial + development,
        late_starts,
        stages.late if stages else 1.0,
        case.wetted_fraction,
        case.soil.available_mm_per_m,
        root_start,
        crop.root_min_m,
        crop.depletion_fraction,
        SOIL_ON_P[case.soil.group],
        first_store(case).beside_mm,
    )


def _daily(
    climates: Sequence[Climate], start: datetime.date, end: datetime.date
) -> tuple[Floats, Floats]:
    """ETo and counted rain [mm/day], a row a climate, a column a date."""
    dates = [start + datetime.timedelta(days=n) for n in range((end - start).days)]
    phase = np.array([year_phase(date) for date in dates])
    wave = np.arange(MONTHS // 2 + 1)[:, None] * (2 * np.pi * phase)
    amplitudes = np.array([monthly_waves(climate.eto_mm_day) for climate in climates])
    eto = amplitudes[:, :, 0] @ np.cos(wave) + amplitudes[:, :, 1] @ np.sin(wave)
    place = phase * MONTHS - 0.5
    month = np.floor(place).astype(np.int64)
    share = place - month
    counted = np.array([climate.effective_mm_day for climate in climates])
    rain = (1 - share) * counted[:, month % MONTHS] + share * counted[:, (month + 1) % MONTHS]
    return np.maximum(0.0, eto), rain


def seasons(many: Plots, supply_l_day: Floats | None = None) -> Seasons:
    """Season of every plot, each with at most its `supply_l_day` [L/day], or all it wants."""
    count = len(many.days)
    supply = np.full(count, np.inf) if supply_l_day is None else supply_l_day
    # Plots of equal length share a pass, so that few columns run on after their crop is picked.
    order = np.argsort(many.days, kind="stable")
    sums = np.empty((6, count))
    for begin in range(0, count, CHUNK):
        chosen = order[begin : begin + CHUNK]
        sums[:, chosen] = _pass(many.part(chosen), supply[chosen])
    need, used, drip, lost, peak, thirsty = sums
    with np.errstate(divide="ignore", invalid="ignore"):
        kept = 1 - many.ky * (1 - np.minimum(1.0, used / need))
    return Seasons(
        many.days,
        need,
        used,
        drip,
        lost,
        drip * many.litres_per_mm,
        peak * many.litres_per_mm,
        thirsty.astype(np.int64),
        np.where(need > 0, np.maximum(0.0, kept), np.nan),
    )


def _pass(here: Plots, supply: Floats) -> Floats:
    """Sums of one chunk: need, used, drip, lost, peak, thirsty days."""
    most = supply / here.litres_per_mm
    strip = np.zeros(len(here.days))
    beside = here.beside_start.copy()
    sums = np.zeros((6, len(here.days)))
    for number in range(1, int(here.days.max()) + 1):
        growing = number <= here.days
        column = here.first + number - 1
        etc = _kc(here, number) * here.eto[here.climate, column]
        rain = here.rain[here.climate, column]
        total, ready = _zone(here, number, etc)
        strip_after_rain = np.maximum(0.0, strip - rain)
        drip = np.minimum(most, strip_after_rain * here.wetted)
        strip, beside, day = _day(here, number, (strip, beside), (etc, rain, drip), (total, ready))
        sums[:4] += np.where(growing, (etc, day[0], drip, day[1]), 0.0)
        sums[4] = np.where(growing, np.maximum(sums[4], drip), sums[4])
        sums[5] += growing & (day[2] < 1)
    return sums


def _kc(here: Plots, number: int) -> Floats:
    grown = _grown_in(here, number)
    fading = np.clip((number - here.late_start) / here.late_days, 0.0, 1.0)
    straight = here.kc_initial + grown * (here.kc_mid - here.kc_initial)
    strip = here.kc_initial * (1 - SHADED_FROM_DRIP * grown**here.cover_power)
    plant = grown * (here.kc_mid - EVAPORATION_IN_KC_MID)
    rising = np.maximum(straight, np.minimum(here.kc_mid, plant + strip))
    return np.where(fading > 0, here.kc_mid + fading * (here.kc_end - here.kc_mid), rising)


def _grown_in(here: Plots, number: int) -> Floats:
    span = here.full_cover - here.initial_end
    return np.clip((number - here.initial_end) / span, 0.0, 1.0)


def _zone(here: Plots, number: int, etc: Floats) -> tuple[Floats, Floats]:
    """TAW and RAW of the day; as `soil_store.zone`."""
    with np.errstate(divide="ignore"):
        share = np.where(
            here.full_cover > 0, np.minimum(1.0, number / np.maximum(here.full_cover, 1e-9)), 1.0
        )
    depth = here.root_start + share * (here.root_full - here.root_start)
    fraction = np.clip((here.table_p + 0.04 * (5 - etc)) * here.soil_on_p, 0.1, 0.8)
    total = here.available * depth
    return total, fraction * total


def _day(
    here: Plots,
    number: int,
    store: tuple[Floats, Floats],
    water: tuple[Floats, Floats, Floats],
    zone: tuple[Floats, Floats],
) -> tuple[Floats, Floats, tuple[Floats, Floats, Floats]]:
    """Next store, and (used, lost, Ks); as `soil_store.day_balance`."""
    etc, rain, drip = water
    total, ready = zone
    rooted = (1 - here.wetted) * _grown_in(here, number)
    on_strip = rain + drip / here.wetted
    lost = (
        np.maximum(0.0, on_strip - store[0]) * here.wetted
        + np.maximum(0.0, rain - store[1]) * rooted
    )
    strip = np.maximum(0.0, store[0] - on_strip)
    beside = np.maximum(0.0, store[1] - rain)
    share = etc * rooted / (rooted + here.wetted)
    from_beside = np.minimum(share, np.maximum(0.0, ready - beside) * rooted)
    ks = np.where(
        strip <= ready, 1.0, np.maximum(0.0, (total - strip) / np.maximum(total - ready, 1e-9))
    )
    from_strip = ks * (etc - from_beside)
    after = strip + from_strip / here.wetted
    short = np.maximum(0.0, after - total) * here.wetted
    beside = beside + np.where(rooted > 0, from_beside / np.where(rooted > 0, rooted, 1.0), 0.0)
    used = from_strip + from_beside - short
    return np.clip(after, 0.0, total), beside, (used, lost, ks)
