"""Land and shortage in words, where the flow alone does not reach."""

from service.advice.enough_screens import litres_a_day
from service.advice.enough_words import crop_name, land_in_words, protect_in_words
from service.sizing.enough import Land
from service.sizing.plain import plain_english


def said(phrases):
    return " ".join(plain_english(phrase) for phrase in phrases)


def test_water_by_each_way_of_asking():
    """20 L in 40 s is 1800 L/h."""
    answers = {
        "brought_l_day": 300.0, "bucket_seconds": 40, "pump_hours": 2,
        "tank_volume_l": 200.0, "fills_a_day": 1.5,
    }  # fmt: skip
    ways = {"buckets": 300, "pump": 3600, "tanks": 300}
    for way, litres in ways.items():
        assert litres_a_day({**answers, "water_from": way}) == litres
    assert litres_a_day({"water_from": "pump"}) == 0


def test_rain_alone_and_a_river_are_said_without_large_numbers(tables):
    tomato = tables.crop("tomato")
    assert "rain alone is enough" in said(
        land_in_words(Land("tomato", None, 0, 3), tomato, 100, in_metres=True)
    )
    river = said(land_in_words(Land("tomato", 1e9, 5, 3), tomato, 5e9, in_metres=False))
    assert "100000 m2" in river


def test_a_crop_without_a_name_for_callers_keeps_that_of_the_table(tables):
    from dataclasses import replace

    unnamed = replace(tables.crop("tomato"), key="tree_tomato", name="Tree tomato")
    assert plain_english(crop_name(unnamed)) == "Tree tomato"


def test_a_crop_without_a_rule_gets_the_plain_one():
    assert said(protect_in_words(None)) == "Plant less, and water that well."
