"""A season day by day, and many seasons at once."""

import datetime
import random
from dataclasses import astuple, fields, replace

import numpy as np
import pytest

from service.sizing.climate import Climate, card_climate
from service.sizing.season import Season, season, yield_share
from service.sizing.season_many import plots, seasons
from service.sizing.tables import standard_tables
from service.sizing.watering import Case, gross_litres, water_need

TABLES = standard_tables()
PLANTED = datetime.date(2026, 3, 1)
TOMATO = Case(TABLES.crop("tomato"), TABLES.soil("loam"), card_climate(5), 400.0, 0.85, PLANTED)


def many_cases(count, seed):
    """Invented plots of every crop and soil in eight invented climates."""
    chance = random.Random(seed)
    climates = [
        card_climate(
            [4 + 2 * np.sin((month + shift) / 2) for month in range(12)],
            [max(0.0, 5 * np.cos((month + shift) / 2)) for month in range(12)],
        )
        for shift in range(8)
    ]
    return [
        Case(
            crop=chance.choice(list(TABLES.crops.values())),
            soil=chance.choice(list(TABLES.soils.values())),
            climate=chance.choice(climates),
            area_m2=chance.uniform(50, 1000),
            emission_uniformity=chance.uniform(0.4, 0.95),
            planted=datetime.date(2024, 1, 1) + datetime.timedelta(days=chance.randrange(900)),
            water_ec_ds_m=chance.uniform(0, 4),
            wetted_fraction=chance.uniform(0.3, 0.6),
        )
        for _ in range(count)
    ]


def test_a_well_watered_season_wants_for_nothing():
    whole = season(TOMATO)
    assert whole.days == 135
    assert whole.thirsty_days == 0
    assert whole.yield_share == 1
    assert whole.used_mm == pytest.approx(whole.need_mm)
    assert whole.lost_mm == 0


def test_day_by_day_and_month_by_month_agree_in_the_dry():
    """No rain: drip makes up for what was drunk but for the last evening's; within 2 %."""
    rows = water_need(TOMATO, PLANTED).months
    by_month = sum(row.gross_l_day * row.growing_days for row in rows)
    assert season(TOMATO).gross_litres == pytest.approx(by_month, rel=0.02)


def test_rain_saves_water():
    wet = replace(TOMATO, climate=Climate((5.0,) * 12, (4.0,) * 12, (2.0,) * 12, "district"))
    assert season(wet).drip_mm < 0.75 * season(TOMATO).drip_mm


def test_half_the_water_costs_harvest():
    """FAO-56 eq. 90 with Ky 1.05 (Table 24)."""
    half = season(TOMATO, 0.5 * season(TOMATO).peak_litres)
    assert half.thirsty_days > 30
    assert half.yield_share == pytest.approx(1 - 1.05 * (1 - half.used_mm / half.need_mm))
    assert half.peak_litres <= 0.5 * season(TOMATO).peak_litres * (1 + 1e-9)


def test_yield_share_by_hand():
    """FAO-56 eq. 90: a tenth less water at Ky 1.05 costs 10.5 %."""
    assert yield_share(90, 100, 1.05) == pytest.approx(0.895)
    assert yield_share(0, 100, 1.25) == 0
    assert yield_share(90, 100, None) is None


@pytest.mark.parametrize("short", [False, True])
def test_many_at_once_equal_each_alone(short):
    cases = many_cases(120, seed=14)
    supply = np.linspace(20, 2500, len(cases)) if short else None
    together = seasons(plots(cases), supply)
    for place, case in enumerate(cases):
        alone = season(case, float(supply[place]) if short else None)
        expected = [np.nan if value is None else float(value) for value in astuple(alone)]
        found = [float(getattr(together, field.name)[place]) for field in fields(Season)]
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-9, nan_ok=True), case.crop.key


def test_litres_are_depth_times_area_over_uniformity():
    together = seasons(plots([TOMATO]))
    expected = together.drip_mm[0] * gross_litres(TOMATO, 1.0)
    assert together.gross_litres[0] == pytest.approx(expected)
    assert gross_litres(TOMATO, 1.0) == pytest.approx(400 / 0.85)
