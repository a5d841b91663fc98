"""The chain of one day's number: every step follows from those before it."""

import datetime
import importlib.resources

import pytest

import service.scenario
from service.sizing.climate import card_climate, read_districts
from service.sizing.explain import (
    explain_day,
    explain_uniformity,
    explain_valve,
    steps_as_text,
)
from service.sizing.tables import standard_tables
from service.sizing.watering import Case, day_need, kc_curve

TABLES = standard_tables()
FOLDER = importlib.resources.files(service.scenario)
DISTRICTS = read_districts((FOLDER / "districts.csv").read_text(encoding="utf-8"), "districts.csv")
TODAY = datetime.date(2026, 11, 25)


def case(climate, **changes):
    usual = {
        "crop": TABLES.crop("tomato"),
        "soil": TABLES.soil("loam"),
        "climate": climate,
        "area_m2": 400.0,
        "emission_uniformity": 0.85,
        "planted": datetime.date(2026, 9, 1),
    }
    return Case(**(usual | changes))


def values(step):
    return {quantity.name: quantity.value for quantity in step.inputs}


@pytest.mark.parametrize("key", DISTRICTS)
@pytest.mark.parametrize("salt", [0.0, 5.0])
def test_the_last_step_is_the_days_answer(key, salt):
    plot = case(DISTRICTS[key].climate, water_ec_ds_m=salt)
    steps = explain_day(plot, TODAY, DISTRICTS[key])
    assert steps[-1].result.value == day_need(plot, kc_curve(plot), TODAY).gross_l_day
    last = values(steps[-1])
    by_hand = last["net"] * last["area"] / (last["EU"] * (1 - last["LR used"]))
    assert steps[-1].result.value == pytest.approx(by_hand)


def test_each_input_that_has_a_step_of_its_own_is_its_result():
    plot = case(DISTRICTS["velmora"].climate, water_ec_ds_m=5.0)
    known = {}
    for step in explain_day(plot, TODAY, DISTRICTS["velmora"]):
        for name, value in values(step).items():
            if name in known:
                assert value == pytest.approx(known[name]), (step.name, name)
        known[step.result.name] = step.result.value
    assert {"Ra", "Rn", "ETo", "Kc", "ETc", "rain counted", "net", "LR", "gross"} <= set(known)


def test_every_step_has_units_an_equation_and_a_source():
    for key, district in DISTRICTS.items():
        for step in explain_day(case(district.climate), TODAY, district):
            assert step.equation, key
            assert step.source, key
            assert all(quantity.unit for quantity in (*step.inputs, step.result)), key


@pytest.mark.parametrize(
    ("key", "equation"),
    [("velmora", "eq. 6"), ("aruneth", "eq. 52"), ("kotsindo", "given in the table")],
)
def test_how_eto_was_obtained_is_told(key, equation):
    steps = explain_day(case(DISTRICTS[key].climate), TODAY, DISTRICTS[key])
    (month,) = [step for step in steps if step.name == "ETo of the month"]
    assert month.equation == equation
    assert month.result.value == DISTRICTS[key].climate.eto_mm_day[10]


def test_without_a_district_the_chain_begins_at_the_figures_given():
    steps = explain_day(case(card_climate(5)), TODAY)
    assert steps[0].note == "figures given on the card"
    assert [step.name for step in steps[-2:]] == ["net need", "litres at the valve"]


def test_before_planting_there_is_only_weather():
    steps = explain_day(case(card_climate(5), planted=datetime.date(2027, 1, 1)), TODAY)
    assert [step.name for step in steps] == ["ETo of the day"]


def test_growing_weeks_name_the_sum_of_plant_and_strip():
    steps = explain_day(case(card_climate(5), planted=datetime.date(2026, 10, 5)), TODAY)
    names = {step.name: step for step in steps}
    assert names["crop coefficient, development stage"].equation == "eqs 69, 75, 76"
    assert names["wetted strip under seedlings"].result.value == pytest.approx(0.46)


def test_every_factor_is_named_even_one_that_is_not_used():
    steps = explain_day(case(card_climate(5), water_ec_ds_m=3.0), TODAY)
    named = {quantity.name for step in steps for quantity in (*step.inputs, step.result)}
    assert {"wetted share", "cover factor used", "EU", "LR used", "share reached"} <= named


def test_uniformity_by_hand():
    """(1 - 1.27 x 0.05) 0.9 / 1.0 = 0.84285."""
    step = explain_uniformity(0.9, 1.0, 0.05, 0.84285)
    inputs = values(step)
    by_hand = (1 - 1.27 * inputs["cv of new emitters"]) * inputs["q_min"] / inputs["q_mean"]
    assert step.result.value == pytest.approx(by_hand)


def test_fills_and_minutes_follow_from_the_litres():
    fills, minutes = explain_valve(900.0, 450.0, 80.0)
    assert fills.result.value == 2
    assert minutes.result.value == 80
    assert len(explain_valve(900.0, 450.0, None)) == 1
    assert explain_valve(900.0, 0.0, None) == ()


def test_text_numbers_the_steps_and_names_their_sources():
    text = steps_as_text(explain_day(case(card_climate(5)), TODAY))
    assert text.startswith(" 1. ETo of the day: ETo 5 mm/day\n    by six waves")
    assert text.count("source: ") == text.count("\n    by ")
