"""A season day by day, and many seasons at once."""

import datetime
import random
from dataclasses import astuple, fields, replace

import numpy as np
import pytest

from service.sizing.climate import Climate, card_climate
from service.sizing.crops import SaltTolerance
from service.sizing.leaching import salt_yield_share
from service.sizing.season import Season, first_store, season, season_days, yield_share
from service.sizing.season_many import plots, seasons
from service.sizing.soil_store import Store
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
    assert yield_share(101, 100, 1.05) == 1, "no more than the whole harvest"
    assert yield_share(0, 0, 1.05) is None, "no season, no share of its harvest"
    assert yield_share(0.5, 1, 1.0) == pytest.approx(0.5)


def test_salt_takes_its_part_of_the_harvest_by_hand():
    """FAO-56 eq. 89: 2.5 dS/m above the threshold at 12 % for each cost 30 %."""
    known = SaltTolerance(1.7, 12.0, "MS")
    assert salt_yield_share(4.2, known) == pytest.approx(0.70)
    assert salt_yield_share(1.7, known) == salt_yield_share(0.5, known) == 1
    assert salt_yield_share(20.0, known) == 0
    for unknown in (SaltTolerance(None, None, "S"), SaltTolerance(1.7, None, "MS")):
        assert salt_yield_share(4.2, unknown) is None


def test_a_season_begins_full_in_the_strip_and_dry_beside_it():
    """Loam holds 250 - 120 = 130 mm/m; the smaller root depth of tomato is 0.7 m: 91 mm."""
    assert first_store(TOMATO) == Store(0.0, pytest.approx(91.0))


@pytest.mark.parametrize(
    ("key", "days"), [("tomato", 135), ("banana", 365), ("banana_grown", 365), ("citrus", 365)]
)
def test_a_crop_that_stays_has_a_year(key, days):
    """Banana grows in over its stages and stays: its season is no stage's end."""
    assert season_days(replace(TOMATO, crop=TABLES.crop(key))) == days


def same_together_as_alone(cases, supply=None):
    together = seasons(plots(cases), supply)
    for place, case in enumerate(cases):
        alone = season(case, None if supply is None else float(supply[place]))
        expected = [np.nan if value is None else float(value) for value in astuple(alone)]
        found = [float(getattr(together, field.name)[place]) for field in fields(Season)]
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-9, nan_ok=True), case.crop.key


@pytest.mark.parametrize("short", [False, True])
def test_many_at_once_equal_each_alone(short):
    cases = many_cases(120, seed=14)
    same_together_as_alone(cases, np.linspace(20, 2500, len(cases)) if short else None)


def test_plots_that_differ_in_one_thing_only_are_told_apart():
    """What several plots share is worked out once: nothing else may be taken for shared."""
    same_together_as_alone(
        [
            TOMATO,
            replace(TOMATO, crop=TABLES.crop("onion")),
            replace(TOMATO, soil=TABLES.soil("sand")),
            replace(TOMATO, climate=card_climate(9)),
            replace(TOMATO, planted=PLANTED + datetime.timedelta(days=200)),
            replace(TOMATO, wetted_fraction=0.6),
            replace(TOMATO, interval_days=3.0),
            replace(TOMATO, area_m2=100.0),
        ]
    )


@pytest.mark.parametrize("eto", [0.5, 10.0])
def test_many_at_once_in_a_cold_and_in_a_hot_place(eto):
    """Below 1 mm/day, and where the easy share of the water falls to its floor of a tenth."""
    cases = [
        replace(TOMATO, crop=TABLES.crop(key), soil=TABLES.soil("clay"), climate=card_climate(eto))
        for key in ("celery", "spinach", "strawberry", "lettuce")
    ]
    same_together_as_alone(cases, np.full(len(cases), 400.0))


def test_litres_are_depth_times_area_over_uniformity():
    together = seasons(plots([TOMATO]))
    expected = together.drip_mm[0] * gross_litres(TOMATO, 1.0)
    assert together.gross_litres[0] == pytest.approx(expected)
    assert gross_litres(TOMATO, 1.0) == pytest.approx(400 / 0.85)
