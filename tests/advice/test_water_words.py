"""Today's water in words, where the flow alone does not reach."""

from dataclasses import replace

import pytest

from service.advice.water_case import crop_case, has_plot, plot_water
from service.advice.water_words import duration, rest, today_in_words
from service.errors import CardError
from service.sizing.plain import plain_english
from service.sizing.today import Report, water_today


@pytest.fixture
def plot(planted, context):
    return plot_water(planted, context)


def said(phrases):
    return " ".join(plain_english(phrase) for phrase in phrases)


def test_a_tank_that_stops_early_is_told_in_litres(plot, context):
    """Where no minutes can be told, litres and buckets still can."""
    early = replace(plot, minutes_for_litres=lambda litres: None)
    today = water_today(plot.case, context.today, Report())
    words = said(today_in_words(early, today, Report(), 0.0))
    assert words.startswith("Give about ")
    assert "buckets" in words
    assert "ring the helpline" in words
    assert said(today_in_words(early, today, Report(), 450.0)).startswith("Give about ")


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (0.4, "1 min"), (12, "12 min"), (33, "35 min"), (119, "120 min"), (130, "2 hours"),
        (400, "6.5 hours"),
    ],
)  # fmt: skip
def test_long_times_are_said_in_hours(minutes, words):
    assert plain_english(duration(minutes)) == words


def test_one_day_and_several():
    assert plain_english(rest(1)).endswith("Dig and feel again tomorrow.")
    assert plain_english(rest(3)).startswith("No water for 3 days")


def test_a_plot_is_known_only_with_all_its_answers(planted, context):
    assert has_plot(planted, context)
    for name in planted:
        if name != "district":
            assert not has_plot({**planted, name: None}, context), name
    assert not has_plot({**planted, "plot_length_m": 0.1}, context)
    assert not has_plot({**planted, "crop": "quinoa"}, context)


def test_a_bare_crop_is_taken_with_the_usual_soil_and_the_caller_s_place(context):
    case = crop_case({"crop": "okra", "weeks_since_planting": 2}, context)
    assert (case.soil.key, case.climate.origin) == ("loam", "class")
    assert (context.today - case.planted).days == 14
    assert crop_case({"crop": "okra", "district": "velmora"}, context).climate.origin == "district"
    with pytest.raises(CardError):
        crop_case({}, context)


def test_the_strip_gets_its_emitters_water(plot):
    """Mean flow over 0.3 m by 0.4 of a metre: L/h on 0.12 m²."""
    flow = plot.layout.full_tank.mean_flow_lph
    assert plot.strip_rate_mm_h == pytest.approx(flow / (0.3 * 0.4))
