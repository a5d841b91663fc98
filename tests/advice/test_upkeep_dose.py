"""An amount of acid or chlorine never comes alone: cautions first, plot, day, and a release."""

import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.advice import Context, registry
from service.advice import upkeep_dose_words as words
from service.advice.upkeep_dose import (
    APART_DAYS,
    RELEASED,
    RELEASED_FOR,
    SEASON_DAYS,
    acid_released,
    chlorine_released,
    release_mark,
)
from service.advice.upkeep_plot import plot_pipes
from service.sizing.plain import plain_english
from service.sizing.treatment import acids, mix

DAY = date(2026, 11, 25)
AMOUNT = re.compile(r"\b[\d.,]+ (?:mL|g) of ")
SHOWS = registry().shows
GUARDS = registry().guards
LAID = {
    "laid": "told",
    "laid_lines": 15,
    "laid_line_length_m": 20,
    "crop": "tomato",
    "weeks_since_planting": 5,
    "tank_volume_l": 500,
    "stand_height_m": 1.5,
}
READY = {
    **LAID,
    "acid": "hydrochloric",
    "acid_pct": 32,
    "bleach_pct": 3.5,
    "trained_helper": "yes",
    RELEASED: DAY.isoformat(),
    RELEASED_FOR: "acid:hydrochloric:32",
}
READY_FOR = {
    "acid": READY,
    "chlorine": {**READY, RELEASED_FOR: "chlorine::3.5"},
}


@pytest.fixture(scope="module")
def context(planner):
    return Context(planner, DAY, helpline="0800 555")


def said(show, answers, context):
    return [plain_english(phrase) for phrase in SHOWS[show](answers, context)]


DOSES = {
    "acid_dose": {
        "goggles": "Goggles, long gloves, apron, boots",
        "water at hand": "A bucket of clean water beside you",
        "on the ground": "On the ground",
        "order": "NEVER water into acid",
        "no metal": "Nothing of metal",
        "no chlorine": "NEVER with or after chlorine",
        "first aid": "rinse 20 minutes, then a clinic",
        "people and animals": "People and animals away",
        "nothing to drink": "Nobody drinks",
        "no climbing": "Nobody climbs with acid",
        "plot": "Only for the plot with 15 lines of 20 m (Tomato), tank 500 L",
        "day": "only on 25 Nov",
    },
    "chlorine_dose": {
        "goggles": "Goggles, long gloves",
        "water at hand": "A bucket of clean water beside you",
        "on the ground": "On the ground",
        "order": "water first, then bleach into water",
        "no metal": "Nothing of metal",
        "no acid": "NEVER with or after acid",
        "no ammonium": "urea or ammonium",
        "first aid": "rinse 20 minutes, then a clinic",
        "people and animals": "People and animals away",
        "nothing to drink": "Nobody drinks",
        "no climbing": "Nobody climbs with bleach",
        "plot": "Only for the plot with 15 lines of 20 m (Tomato), tank 500 L",
        "day": "only on 25 Nov",
    },
}


@pytest.mark.parametrize("show", DOSES)
def test_every_caution_stands_before_the_number_in_the_same_list(show, context):
    sentences = said(show, READY_FOR[show.split("_")[0]], context)
    (place,) = [at for at, sentence in enumerate(sentences) if AMOUNT.search(sentence)]
    before = " ".join(sentences[:place])
    for what, caution in DOSES[show].items():
        assert caution in before, what
    after = " ".join(sentences[place + 1 :])
    assert "In doubt do nothing and ring the helpline: 0800 555." in after


def test_the_paper_decides_after_the_amount(context):
    sentences = said("acid_dose", READY, context)
    assert any("pH 2 to 3" in sentence for sentence in sentences)


def test_cautions_are_the_first_sentences_of_every_text_about_a_mix(context):
    held = {**READY, RELEASED: ""}
    for show, cautions in (
        ("acid_dose", words.acid_cautions()),
        ("acid_prepare", words.acid_cautions()),
        ("chlorine_dose", words.chlorine_cautions()),
        ("chlorine_prepare", words.chlorine_cautions()),
    ):
        wanted = [plain_english(phrase) for phrase in cautions]
        for answers in (READY, held):
            assert said(show, answers, context)[: len(wanted)] == wanted


def test_the_amounts_are_those_of_a_second_reckoning(context):
    """
    15 lines of 20 m, 13.6 mm: 43.6 L; pipe and what drips on top; 50 L below the outlet.

    10 mmol/L of acid from 32 % at 1.16 kg/L (10.2 mol/L) is 0.98 mL a litre; bleach of 3.5 % at
    10 mg/L is 10 / 35 mL a litre. Both are cut down: by 10 above a hundred, by 5 above twenty.
    """
    sentences = " ".join(said("acid_dose", READY, context))
    amount, litres = map(int, re.search(r"(\d+) mL of .* into (\d+) L", sentences).groups())
    assert 43.6 + 50 < litres < 200
    assert 0 <= litres * 10 / (1.16 * 320 / 36.46) - amount < 10
    sentences = " ".join(said("chlorine_dose", READY_FOR["chlorine"], context))
    amount, litres = map(int, re.search(r"(\d+) mL of bleach .* into (\d+) L", sentences).groups())
    assert 0 <= litres * 10 / 35 - amount < 5


def test_powder_is_weighed(context):
    citric = {**READY, "acid": "citric", "acid_pct": 99, RELEASED_FOR: "acid:citric:99"}
    assert any(
        " g of Citric acid, powder (99%)" in line for line in said("acid_dose", citric, context)
    )


def test_without_a_helpline_the_field_officer_is_named(planner):
    alone = Context(planner, DAY)
    assert said("acid_dose", READY, alone)[-1] == "In doubt do nothing and ask your field officer."


# --- no number without a release -----------------------------------------------------------------

KNOWN = st.fixed_dictionaries(
    {},
    optional={
        "acid": st.sampled_from(["citric", "hydrochloric", "other", "", "sulphuric"]),
        "acid_pct": st.sampled_from([1, 32, 85, 99, "", 10.5]),
        "bleach_pct": st.sampled_from([0.5, 3.5, 12, 65, ""]),
        "trained_helper": st.sampled_from(["yes", "no", ""]),
        "harvest_over": st.sampled_from(["yes", "no"]),
        RELEASED: st.sampled_from(["2026-11-24", "yes", "", "true", "1", "2026-11-26"]),
        "upkeep_acid_done": st.sampled_from(["2026-11-20", "x"]),
    },
)


@given(answers=KNOWN, plot=st.booleans())
def test_nothing_that_a_caller_can_answer_brings_out_a_number(context, answers, plot):
    whole = {**(LAID if plot else {}), **answers}
    assert not acid_released(whole, context)
    assert not chlorine_released(whole, context)
    for show in ("acid_dose", "acid_prepare", "acid_not", "acid_rinse", "chlorine_dose",
                 "chlorine_prepare", "chlorine_not", "chlorine_rinse"):  # fmt: skip
        assert not AMOUNT.search(" ".join(said(show, whole, context))), show


@pytest.mark.parametrize(
    ("changes", "released"),
    [
        ({}, True),
        ({"trained_helper": "no"}, False),
        ({"trained_helper": ""}, False),
        ({RELEASED: "2026-11-24"}, False),
        ({RELEASED: ""}, False),
        ({RELEASED: True}, False),
        ({RELEASED_FOR: ""}, False),
        ({"acid": "citric"}, False),
        ({"acid_pct": 98}, False),
    ],
)
def test_a_release_is_for_one_day_and_with_a_helper(context, changes, released):
    assert GUARDS["acid_released"]({**READY, **changes}, context) is released


@pytest.mark.parametrize(
    ("acid", "pct", "told"),
    [
        ("hydrochloric", 32, True),
        ("hydrochloric", 5, False),
        ("hydrochloric", 40, False),
        ("sulphuric", 35, True),
        ("sulphuric", 98, False),
        ("phosphoric", 85, True),
        ("citric", 99, True),
        ("citric", 10, False),
        ("other", 32, False),
        ("nitric", 65, False),
    ],
)
def test_outside_its_range_an_acid_has_no_amount_even_released(context, acid, pct, told):
    mark = release_mark("acid", acid, pct)
    answers = {**READY, "acid": acid, "acid_pct": pct, RELEASED_FOR: mark}
    assert GUARDS["acid_dose_holds"](answers, context) is told
    sentences = " ".join(said("acid_dose", answers, context))
    assert bool(AMOUNT.search(sentences)) is told


def test_a_strong_acid_is_refused_in_other_words_than_a_weak_one(context):
    strong = said("acid_not", {**READY, "acid": "sulphuric", "acid_pct": 98}, context)
    weak = said("acid_not", {**READY, "acid": "sulphuric", "acid_pct": 5}, context)
    assert strong[0].startswith("That strength is too dangerous")
    assert weak[0].startswith("That is too weak")


@pytest.mark.parametrize("days", [0, APART_DAYS - 1, APART_DAYS])
def test_acid_and_chlorine_are_days_apart_both_ways(context, days):
    before = date.fromordinal(DAY.toordinal() - days).isoformat()
    near = days < APART_DAYS
    assert GUARDS["acid_was_near"]({"upkeep_acid_done": before}, context) is near
    assert GUARDS["chlorine_was_near"]({"upkeep_chlorine_done": before}, context) is near


@pytest.mark.parametrize(
    ("days", "soon"), [(0, True), (SEASON_DAYS - 1, True), (SEASON_DAYS, False)]
)
def test_acid_once_in_a_season(context, days, soon):
    before = date.fromordinal(DAY.toordinal() - days).isoformat()
    assert GUARDS["acid_once_this_season"]({"upkeep_acid_done": before}, context) is soon


def test_a_day_that_cannot_be_read_is_no_day(context):
    assert not GUARDS["acid_once_this_season"]({"upkeep_acid_done": "lately"}, context)


def test_every_acid_of_the_table_has_its_name_on_the_menu(context):
    labels = {option.value for option in registry().options["acids"]({}, context)}
    assert labels == {*acids(), "other"}


def test_the_network_behind_the_mix_is_that_of_the_plan(context):
    plot = plot_pipes(LAID, context)
    assert plot.one.worst_full.mean_flow_lph == pytest.approx(
        plot.layout.full_tank.mean_flow_lph, rel=1e-4
    )
    assert plot.one.network.line_count == plot.layout.line_count == 15
    assert mix(plot.one, plot.laying).litres < 0.5 * 500
