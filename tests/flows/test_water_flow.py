"""The conversation on today's water: soil or rain, tanks given, then minutes on one screen."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from service.advice.water_case import plot_water
from service.dialogue import Place
from service.phrases import say
from service.sizing.plain import plain_english
from service.text.measure import measure
from service.text.render import one_text, render

TO_WATER = ("1", "Water today")
"""English, water today, for a caller whose district is known."""


@pytest.fixture
def ask(hold, planted, catalogues):
    """Answers after the first question of the conversation, and plot answers that differ."""

    def ask(*answers, **changes):
        outcome = hold(*TO_WATER, *answers, known={**planted, **changes})
        return one_text(outcome.screen, "en", catalogues)

    return ask


def minutes(words):
    found = re.search(r"about ([\d.]+) (min|hours)", words)
    return float(found[1]) * (60 if found[2] == "hours" else 1)


def test_without_a_plot_the_caller_is_sent_to_plan_one(hold, catalogues):
    outcome = hold("1", "kot", "1", "Water today")
    assert one_text(outcome.screen, "en", catalogues).startswith("First a few short questions")
    assert hold("1", "kot", "1", "Water today", "1").conversation.flow == "plan"
    assert hold("1", "kot", "1", "Water today", "2").conversation.flow == "myplot"


def test_three_answers_lead_to_minutes_and_fills(ask):
    words = ask("5", "0")
    assert words.startswith("Valve open about ")
    assert "x the tank" in words
    assert "Still wet below? Give less." in words


def test_minutes_are_those_of_the_plots_own_layout(ask, context, planted):
    """Kotsindo in November, tomato of 8 weeks: ETc at the valve over the tank's own curve."""
    plot = plot_water(planted, context)
    words = ask("5", "0")
    fills = float(re.search(r"([\d.]+) x the tank", words)[1])
    litres = fills * plot.layout.delivered_litres
    assert minutes(words) == pytest.approx(plot.minutes_for_litres(litres), rel=0.1)


def test_what_was_given_is_taken_off(ask):
    whole, half = ask("5", "0"), ask("5", "2")
    assert " more: " in half
    assert minutes(half) < minutes(whole)
    assert "that is enough" in ask("5", "9")


def test_a_dry_soil_gets_more_and_a_wet_one_less(ask):
    assert minutes(ask("1", "0")) > minutes(ask("5", "0")) >= minutes(ask("2", "0"))
    assert "as it is dry" in ask("1", "0")


@pytest.mark.parametrize("answer", ["3", "wet a finger deep", "4", "wet a hand deep"])
def test_wet_below_the_crust_means_no_water_on_loam_in_mild_weather(ask, answer):
    assert "No water" in ask(answer, "0", district="velmora")


def test_a_thirsty_day_is_watered_though_a_finger_feels_wet(ask):
    """7.2 mm on 0.4 of the ground dry out the strip faster than a finger's depth makes good."""
    words = ask("3", "0")
    assert minutes(words) < minutes(ask("5", "0"))
    assert "A little less, as it is wet below." in words


@pytest.mark.parametrize(
    ("changes", "hint", "skips"),
    [
        ({"district": "velmora"}, "Wet a finger deep? Skip.", {"3", "4"}),
        ({"weeks_since_planting": 1, "crop": "onion"}, "Wet a hand deep? Skip.", {"4"}),
        ({}, "Still wet below? Give less.", set()),
    ],
)
def test_the_hint_says_what_the_finger_would_be_told(ask, changes, hint, skips):
    assert hint in ask("5", "0", **changes)
    for key in ("3", "4"):
        assert ("No water" in ask(key, "0", **changes)) == (key in skips), key


def test_rain_in_millimetres_or_centimetres_lets_days_pass(ask):
    thirty = ask("6", "30", "0")
    assert re.search(r"No water for \d days: .* Then dig and feel again\.", thirty)
    assert ask("6", "3 cm", "0") == thirty
    assert ask("6", "0", "0") == ask("5", "0")
    assert "tomorrow" in ask("6", "10", "0")


def test_a_plot_that_lies_already_needs_no_plan(hold, catalogues):
    """12 lines of 20 m told, not planned."""
    laid = {
        "district": "velmora", "crop": "tomato", "weeks_since_planting": 8, "laid": "told",
        "laid_lines": 12, "laid_line_length_m": 20.0, "tank_volume_l": 500.0,
        "stand_height_m": 1.5,
    }  # fmt: skip
    outcome = hold(*TO_WATER, "5", "0", known=laid)
    words = one_text(outcome.screen, "en", catalogues)
    assert words.startswith(("Valve open about ", "No water"))


def test_several_answers_in_one_text(ask):
    assert ask("5", "0") in ask("5 0")


def test_heavy_soil_is_watered_in_goes_an_hour_apart(ask):
    assert "goes an hour apart" in ask("5", "0", soil="clay")


def test_shallow_roots_in_light_soil_are_watered_over_the_day(ask):
    words = ask("5", "0", soil="sand", crop="onion", weeks_since_planting=10)
    assert "goes over the day, so none sinks away" in words


def test_the_answer_takes_one_screen_in_english(hold, planted, catalogues):
    for soil in ("sand", "loam", "clay"):
        for answers in (("1", "0"), ("1", "1"), ("3", "0"), ("5", "0"), ("5", "0.5")):
            known = {**planted, "soil": soil, "crop": "onion"}
            outcome = hold(*TO_WATER, *answers, known=known)
            (page,) = render(outcome.screen, "en", catalogues)
            assert measure(page).units <= 160, page


def test_why_names_the_square_metre_and_the_weakest_dripper(ask):
    words = ask("5", "0", "1")
    assert "L on a square metre today." in words
    assert "Plot 400 m2" in words
    assert "weakest dripper" in words


def test_why_tells_what_the_soil_gave_or_took(ask):
    assert "Dry soil: about" in ask("1", "0", "1")
    assert "The wet soil gives about" in ask("6", "3", "0", "1")


def test_why_warns_of_gaps_and_of_unknown_weather(ask):
    assert "leave dry gaps" in ask("5", "0", "1", soil="sand")
    unknown = ask("5", "0", "1", district="elsewhere")
    assert "taken as hot and dry" in unknown


@pytest.mark.parametrize(
    ("weeks", "words"),
    [(1, "Young plants"), (7, "Growing plants"), (12, "Full-grown plants"), (17, "Ripening")],
)
def test_why_says_how_old_the_plants_are(ask, weeks, words):
    assert words in ask("5", "0", "1", weeks_since_planting=weeks)


def test_months_ahead_begin_with_this_one(ask):
    words = ask("5", "0", "2")
    assert words.startswith("Nov:")
    assert "Sep" not in words


def test_a_crop_that_is_over_gets_no_water(ask):
    assert "The crop is over" in ask("5", "0", weeks_since_planting=90)
    assert "The crop is over" in ask("5", "0", "1", weeks_since_planting=90)
    assert "The crop is over" in ask("5", "0", "2", weeks_since_planting=90)


def test_too_little_water_leads_to_the_other_conversation(hold, planted):
    outcome = hold(*TO_WATER, "5", "0", "3", known=planted)
    assert (outcome.conversation.flow, outcome.conversation.state) == ("enough", "how")


def test_answers_that_no_longer_make_a_plot_are_said_to_be(dialogue, context, planted):
    """A table may lose a crop between two calls."""
    gone = {**planted, "plot_length_m": 0.1, "soil_feel": "dry", "tanks_today": 0}
    conversation = dialogue.place("en", "water", "today", gone)
    words = [plain_english(line) for line in dialogue.show(conversation, context).lines]
    assert words == ["The plot is too small for a drip line. Go back and send its size again."]


def test_who_came_without_a_plot_gets_to_the_water_in_one_step_once_it_is_told(hold):
    told = ("1", "kot", "1", "Water today", "2", "12 20 tomato 3 500 1.5 0")
    assert hold(*told).conversation.place == Place("myplot", "taken")
    assert hold(*told, "Water today").conversation.place == Place("water", "soil")
    assert hold(*told, "2").conversation.place == Place("water", "soil")


def test_every_state_and_exit_is_walked(hold, planted, dialogue):
    flow = dialogue.book.flows["water"]
    paths = {
        "need_plot": [("1", "kot", "1", "Water today")],
        "soil": [TO_WATER],
        "rain": [(*TO_WATER, "6")],
        "filled": [(*TO_WATER, key) for key in "12345"] + [(*TO_WATER, "6", "12")],
        "today": [(*TO_WATER, "5", "1")],
        "why": [(*TO_WATER, "5", "1", "1")],
        "months": [(*TO_WATER, "5", "1", "2"), (*TO_WATER, "5", "1", "1", "1")],
    }
    assert set(paths) == {name for name, state in flow.states.items() if state.kind != "branch"}
    for name, ways in paths.items():
        for way in ways:
            known = None if name == "need_plot" else planted
            conversation = hold(*way, known=known).conversation
            assert Place(conversation.flow, conversation.state) == Place("water", name), way
    out = [(*TO_WATER, "5", "1", "1", "2"), (*TO_WATER, "5", "1", "2", "2")]
    for way in out:
        assert hold(*way, known=planted).conversation.place == Place("start", "menu")
    assert hold("1", "kot", "1", "Water today", "3").conversation.place == Place("start", "menu")


def test_the_same_answers_give_the_same_screen_tomorrow_but_for_the_weather(
    dialogue, context, planted, hold
):
    outcome = hold(*TO_WATER, "5", "0", known=planted)
    again = dialogue.show(outcome.conversation, context)
    assert again == outcome.screen
    later = replace(context, today=context.today.replace(month=12))
    assert dialogue.show(outcome.conversation, later).lines != (say(""),)


# --- from one day to the next ----------------------------------------------------------------


@pytest.fixture
def days(dialogue, context, vocabularies, planted, catalogues):
    """Ask about water on several days with one plot; the last screen's words."""

    def days(*asked, known=None, rain=None):
        kept, words = {**planted, **(known or {})}, ""
        for later, answers in asked:
            day = context.today + timedelta(days=later)
            at = replace(context, today=day, rain=lambda district, since: rain or {})
            outcome = dialogue.begin("en", "water", at, kept)
            for answer in answers:
                outcome = dialogue.answer(outcome.conversation, answer, vocabularies["en"], at)
            kept = outcome.conversation.answers
            words = one_text(outcome.screen, "en", catalogues)
        return words

    return days


def test_rain_told_yesterday_still_counts_today(days):
    first = days((0, ("6", "40", "0")))
    assert first.startswith("No water for 2 days")
    assert days((0, ("6", "40", "0")), (1, ("5", "0"))).startswith("No water today")
    assert days((0, ("6", "40", "0")), (2, ("5", "0"))).startswith("Valve open about ")


def test_rain_that_the_field_officer_reported_counts_too(days, context):
    yesterday = {context.today: 40.0}
    assert days((1, ("5", "0")), rain=yesterday).startswith("No water today")
    assert days((1, ("5", "0"))).startswith("Valve open about ")


def test_what_the_farmer_feels_overrules_the_officers_rain(days, context):
    assert "More than usual, as it is dry." in days((1, ("1", "0")), rain={context.today: 40.0})


def test_weeks_told_once_go_by(days):
    """Eight weeks old when told; six weeks later the same plot ripens and drinks otherwise."""
    told = {"weeks_told_on": "2026-11-25"}
    young = days((0, ("5", "0", "1")), known=told)
    old = days((63, ("5", "0", "1")), known=told)
    assert "Full-grown plants" in young or "Growing plants" in young
    assert "Ripening plants" in old


# --- several crops on one plot ----------------------------------------------------------------

TWO = {"more_crops": [{"crop": "onion", "lines": 5, "planted": "2026-11-20"}]}


CROP_LINE = re.compile(
    r"(\w+) \((\d+) lines\): (about [\d.]+ \w+), then shut (the taps of its lines|the valve)"
)


@pytest.fixture
def crop_lines(hold, laid, catalogues):
    outcome = hold("Water today", "5", "0", known={**laid, **TWO})
    return CROP_LINE.findall(one_text(outcome.screen, "en", catalogues))


def test_several_crops_get_their_own_minutes(crop_lines):
    assert [line[:2] for line in crop_lines] == [("Onion", "5"), ("Tomato", "10")]
    assert [line[3] for line in crop_lines] == ["the taps of its lines", "the valve"]
    first, last = (minutes(line[2]) for line in crop_lines)
    assert first < last


def test_minutes_of_several_crops_are_those_of_the_plan(crop_lines, laid, context):
    """The rows of the plan for this month, but for the rain that a usual month brings them."""
    rows = {crop.crop: crop.now for crop in context.plan({**laid, **TWO}).crops}
    for crop, _, time, _ in crop_lines:
        row = rows[crop.lower()]
        without_rain = row.minutes_per_day * (row.net_mm_day + row.rain_mm_day) / row.net_mm_day
        assert minutes(time) == pytest.approx(without_rain, rel=0.1)


def test_several_crops_that_had_their_water(hold, laid, catalogues):
    words = one_text(hold("Water today", "5", "20", known={**laid, **TWO}).screen, "en", catalogues)
    assert words.startswith("The plot had about ")


def test_several_crops_rest_together_after_rain(hold, laid, catalogues):
    outcome = hold("Water today", "6", "80", "0", known={**laid, **TWO})
    assert one_text(outcome.screen, "en", catalogues).startswith("No water ")
