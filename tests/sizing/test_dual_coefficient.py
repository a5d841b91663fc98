"""The single coefficient for drip, checked by the paper's longer way: the dual form.

FAO-56 chapter 7 keeps the plant (Kcb) and the drying of the top soil (Ke) apart. It is written
out here, held to the paper's own examples, and then run through a season of daily drip: the
service's shorter way has to come near it.
"""

import csv
import datetime
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from service.sizing.climate import card_climate
from service.sizing.kc import KcCurve, climate_adjusted
from service.sizing.tables import standard_tables
from service.sizing.watering import Case, kc_curve

DATA = Path(__file__).parents[1] / "data" / "fao56_soil_balance.csv"
with DATA.open(encoding="utf-8", newline="") as file:
    DAYS = list(csv.DictReader(file))


def kc_max(kcb, height, wind=2.0, humidity=45.0, base=1.2):
    """Eq. 72."""
    return max(climate_adjusted(base, height, wind, humidity), kcb + 0.05)


def ground_cover(kcb, most, height, least=0.15):
    """Eq. 76."""
    return max(0.01, (kcb - least) / (most - least)) ** (1 + 0.5 * height) if kcb > least else 0.01


def drying(depletion, ready, total):
    """Kr, eq. 74."""
    return 1.0 if depletion <= ready else max(0.0, (total - depletion) / (total - ready))


def evaporation(kr, kcb, most, exposed):
    """Ke, eq. 71."""
    return min(kr * (most - kcb), exposed * most)


@pytest.mark.parametrize(
    "row", [r for r in DAYS if r["example"].startswith("31")], ids=lambda r: r["day"]
)
def test_bare_loam_drying_after_rain(row):
    """FAO-56 Example 31, p. 146: TEW 20, REW 9, Kc max 1.20, Kcb 0.15, printed to 0.01."""
    kr = drying(float(row["de_start_mm"]), 9, 20)
    assert kr == pytest.approx(float(row["kr"]), abs=0.006)
    assert evaporation(kr, 0.15, 1.20, 1.0) == pytest.approx(float(row["ke"]), abs=0.01)


@pytest.mark.parametrize(
    "row", [r for r in DAYS if r["example"].startswith("35")], ids=lambda r: r["day"]
)
def test_ten_days_of_the_dual_form(row):
    """
    FAO-56 Example 35, p. 154: TEW 18, REW 8, Kc max 1.21, printed to 0.01.

    The table carries the depletion in whole millimetres, a tenth of which is 0.1 in Kr; day 3
    prints Ke 0.62 where its own Kc of 1.04 (and Example 38) take 0.72.
    """
    most = kc_max(float(row["kcb"]), 0.3, 1.6, 35)
    assert most == pytest.approx(1.21, abs=0.005)
    kr = drying(float(row["de_start_mm"]), 8, 18)
    assert kr == pytest.approx(float(row["kr"]), abs=0.11)
    ke = evaporation(float(row["kr"]), float(row["kcb"]), most, float(row["few"]))
    assert float(row["kcb"]) + ke == pytest.approx(float(row["kc"]), abs=0.1)


def test_ground_cover_and_drip_under_the_leaves():
    """FAO-56 Examples 32 and 34, p. 150: Kc max 1.30, cover 0.53, exposed and wet 0.19, Kc 1.15."""
    most = kc_max(0.9, 1.0, 3, 20)
    assert most == pytest.approx(1.30, abs=0.005)
    cover = ground_cover(0.9, most, 1.0)
    assert cover == pytest.approx(0.53, abs=0.005)
    exposed = 0.3 * (1 - 2 / 3 * cover)
    assert exposed == pytest.approx(0.19, abs=0.005)
    assert 0.9 + evaporation(1.0, 0.9, most, exposed) == pytest.approx(1.15, abs=0.006)


def plant_alone(basal, kcb):
    """Kcb without the 0.15 of slow evaporation that Table 17 puts in for all the ground."""
    return max(0.0, (basal - kcb[0]) / (kcb[1] - kcb[0])) * kcb[1]


def dual_season(case, kcb, dry_ground=False):
    """ETc by stage [mm], watered every morning on `wetted_fraction` of the ground.

    Kc max 1.1 for wettings every day (p. 143 on eq. 72). With `dry_ground` the soil beside the
    strip gives off nothing, which the paper allows where it is dry.
    """
    spent = {"initial": 0.0, "development": 0.0, "mid": 0.0, "late": 0.0}
    curve = KcCurve(*kcb, case.crop.stages)
    height = case.crop.height_m
    for day in range(1, int(case.crop.stages.total) + 1):
        basal = curve.at(day)
        plant = plant_alone(basal, kcb) if dry_ground else basal
        most = kc_max(plant, height, base=1.1)
        cover = ground_cover(basal, max(most, kcb[1]), height)
        exposed = min(1 - cover, case.wetted_fraction * (1 - 2 / 3 * cover))
        # Watered this morning: the wet strip starts full (De = 0), so that Kr is 1.
        spent[curve.stage(day)] += plant + evaporation(1.0, plant, most, exposed)
    return spent


# FAO-56 Table 17, as read in a public package, not in the printed table.
BASAL = [
    ("tomato", (0.15, 1.10, 0.70)),
    ("onion", (0.15, 0.95, 0.65)),
    ("cabbage", (0.15, 0.95, 0.85)),
    ("green_bean", (0.15, 1.00, 0.80)),
    ("sweet_pepper", (0.15, 1.00, 0.80)),
    ("watermelon", (0.15, 0.95, 0.70)),
]


def short_and_long(key, kcb, dry_ground):
    """Our season and the paper's, on loam at 5 mm a day, by stage."""
    tables = standard_tables()
    case = Case(
        tables.crop(key), tables.soil("loam"), card_climate(5), 100.0, 0.9,
        datetime.date(2026, 3, 1),
    )  # fmt: skip
    long = dual_season(case, kcb, dry_ground)
    curve = kc_curve(case)
    short = dict.fromkeys(long, 0.0)
    for day in range(1, int(case.crop.stages.total) + 1):
        short[curve.stage(day)] += curve.at(day)
    return short, long


@pytest.mark.parametrize(("key", "kcb"), BASAL)
def test_on_dry_ground_the_short_way_comes_near_the_long_one(key, kcb):
    """
    Daily drip on 0.4 of the ground, nothing given off beside the strip.

    Measured: seedlings 105 per cent of the long way, growing plants 97 to 102, mid-season 91 (the
    watermelon's 1.00 of Table 12) to 100, over the season 92 to 99, the rest missing while the
    crop ripens and Table 12 lets the soil dry.
    """
    short, long = short_and_long(key, kcb, dry_ground=True)
    assert 0.97 <= short["development"] / long["development"] <= 1.03
    assert 0.90 <= short["mid"] / long["mid"] <= 1.01
    assert 0.91 <= sum(short.values()) / sum(long.values()) <= 1.01


@pytest.mark.parametrize(("key", "kcb"), BASAL)
def test_with_its_slow_evaporation_the_long_way_is_higher(key, kcb):
    """
    The same with Table 17 as printed: 0.15 more for seedlings and for all soil at all times.

    Measured: the short way gives 91 to 100 per cent in mid-season, 86 to 93 over the season; a
    straight line through the development stage gave 83 to 88 per cent there, now it is 89 to 95.
    """
    short, long = short_and_long(key, kcb, dry_ground=False)
    assert 0.90 <= short["mid"] / long["mid"] <= 1.01
    assert 0.89 <= short["development"] / long["development"] <= 0.96
    assert 0.86 <= sum(short.values()) / sum(long.values()) <= 0.94


def test_growing_plants_over_a_wet_strip_by_hand():
    """Half way, tomato: 0.5 x 1.10 + 0.46 (1 - 2/3 x 0.5^1.3) = 0.885; straight 0.805."""
    tables = standard_tables()
    case = Case(
        tables.crop("tomato"), tables.soil("loam"), card_climate(5), 100.0, 0.9,
        datetime.date(2026, 3, 1),
    )  # fmt: skip
    curve = kc_curve(case)
    assert curve.initial == pytest.approx(0.46, abs=0.001)
    assert curve.at(50) == pytest.approx(0.8855, abs=0.001)
    assert replace(curve, cover_power=None).at(50) == pytest.approx(0.805, abs=0.001)
    assert curve.at(30) == pytest.approx(0.46, abs=0.001)
    assert curve.at(70) == pytest.approx(1.15)


@pytest.mark.parametrize("key", standard_tables().crops)
def test_no_crop_jumps_or_passes_its_mid_season(key):
    tables = standard_tables()
    crop = tables.crop(key)
    if crop.stages is None:
        return
    case = Case(
        crop, tables.soil("loam"), card_climate(5), 100.0, 0.9, datetime.date(2026, 3, 1)
    )  # fmt: skip
    curve = kc_curve(case)
    days = [curve.at(day) for day in range(1, int(crop.stages.initial + crop.stages.development))]
    assert max(days) <= max(curve.mid, curve.initial) + 1e-9
    steps = [abs(after - before) for before, after in pairwise(days)]
    assert max(steps) <= 2.5 * (abs(curve.mid - curve.initial) + 0.05) / crop.stages.development
