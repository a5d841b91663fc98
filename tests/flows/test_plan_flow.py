"""The plan conversation from the first question to the plan in one text."""

import pytest

from service.text.measure import measure
from service.text.render import one_text, render

TO_PLAN = ("1", "kot", "1", "1")
"""English, the district that begins with these letters, plan a plot."""


def words(outcome, catalogues, language="en"):
    return one_text(outcome.screen, language, catalogues)


def test_six_answers_lead_to_a_first_plan(hold, catalogues, to_plan):
    taken = hold(*to_plan, "20", "20", "tomato", "3", "500", "2.5")
    assert "Taken as usual: level ground, loam" in words(taken, catalogues)
    water = hold(*to_plan, "20", "20", "tomato", "3", "500", "2.5", "1")
    assert words(water, catalogues).startswith("Full tank: 0.5 t. A builder")


def test_water_stands_before_the_layout(hold, catalogues, to_plan):
    plan = (*to_plan, "20", "20", "tomato", "3", "500", "2.5", "1")
    assert "Water: about" in words(hold(*plan), catalogues)
    assert "20 lines of 20 m" in words(hold(*plan, "1"), catalogues)


def test_paces_feet_drums_and_a_comma_are_understood(hold, to_plan):
    answers = hold(*to_plan, "20 paces", "50 ft", "tomato", "3", "2 drums", "1,5").conversation
    assert answers.answers["plot_length_m"] == pytest.approx(15.0)
    assert answers.answers["plot_width_m"] == pytest.approx(15.24)
    assert answers.answers["tank_volume_l"] == pytest.approx(400.0)
    assert answers.answers["stand_height_m"] == pytest.approx(1.5)


def test_several_answers_in_one_text(hold, to_plan):
    outcome = hold(*to_plan, "20 15 tomato 3 500 2")
    assert outcome.conversation.state == "taken"
    assert outcome.conversation.answers["crop"] == "tomato"


def test_the_short_plan_is_one_text_in_english(hold, catalogues, to_plan):
    end = hold(*to_plan, "20", "20", "tomato", "3", "500", "2.5", "1", "1", "1", "3")
    assert end.screen.ends
    assert measure(words(end, catalogues)).parts == 1


def test_the_answer_takes_at_most_three_screens_in_english(hold, catalogues, to_plan):
    answers = [*to_plan, "20", "20", "tomato", "3", "500", "2.5"]
    for _ in range(3):
        answers.append("1")
        assert len(render(hold(*answers).screen, "en", catalogues)) == 1


def test_a_plot_too_narrow_for_its_crop_still_gets_a_line(hold, catalogues, to_plan):
    outcome = hold(*to_plan, "3", "2", "mango", "0", "100", "1", "1", "1")
    assert "1 lines of 3 m" in words(outcome, catalogues) or "1 line" in words(outcome, catalogues)


def test_a_starving_far_end_is_said_with_what_would_help(hold, catalogues, starving):
    """20 lines of 40 m on a thin main pipe: wider pipe, shorter lines and blocks are computed."""
    assert "far end gets too little" in words(hold(*starving), catalogues)
    helps = words(hold(*starving, "1"), catalogues)
    assert all(change in helps for change in ("main pipe", "lines of", "blocks"))


def test_a_higher_stand_comes_last_and_with_the_builder(hold, catalogues, starving):
    helps = words(hold(*starving, "1"), catalogues)
    last = helps.index("stand of")
    assert last > max(helps.rindex("blocks"), helps.rindex("main pipe"))
    assert "only if a builder makes and checks it" in helps
