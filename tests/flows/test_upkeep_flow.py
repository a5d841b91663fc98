"""Upkeep: what is due, that it was done, and the gates before acid and chlorine."""

from dataclasses import dataclass, replace
from datetime import timedelta

import pytest

from service.advice import Context
from service.dialogue import Place, walk
from service.sizing.upkeep import TASKS
from service.text.render import one_text, render


@pytest.fixture
def at(hold, tended, catalogues):
    """Place and English words after some answers of a caller with a laid plot."""

    def at(*answers, known=None, **changes):
        whole = {**(tended if known is None else known), **changes}
        outcome = hold(*answers, known=whole)
        return outcome.conversation, one_text(outcome.screen, "en", catalogues)

    return at


# --- what is due -------------------------------------------------------------------------------


def test_the_water_is_asked_about_once(at, laid):
    asked, _ = at("Upkeep", known=laid)
    assert asked.state == "source"
    assert at("Upkeep", "2", known=laid)[0].state == "sign"
    told, _ = at("Upkeep", "2", "4", known=laid)
    assert (told.state, told.answers["water_source"], told.answers["water_sign"]) == (
        "due", "open", "crust",
    )  # fmt: skip
    assert at("Upkeep", known={**laid, "water_source": "open"})[0].state == "sign"
    assert at("Upkeep")[0].state == "due"


def test_where_nothing_was_done_all_is_due(at):
    words = at("Upkeep")[1]
    assert words.startswith("Due today: filter, walk along the lines, flush the line ends, tank")


TO_DONE = {
    "filter": ("1", "1"),
    "walk": ("2", "1"),
    "lines": ("3", "1", "1", "1", "1"),
    "tank": ("4", "1", "1"),
}


@pytest.mark.parametrize("task", TASKS)
def test_done_is_kept_with_its_day_and_the_task_is_no_longer_due(at, task):
    done, _ = at("Upkeep", *TO_DONE[task])
    assert done.state == "due"
    assert done.answers[f"upkeep_{task}_done"] == "2026-11-25"
    names = {"filter": "filter", "walk": "walk", "lines": "flush", "tank": "tank and stand"}
    due = at("Upkeep", *TO_DONE[task])[1].splitlines()[0]
    assert names[task] not in due


@pytest.mark.parametrize("task", TASKS)
def test_not_now_keeps_the_day_that_was(at, task):
    way = (*TO_DONE[task][:-1], "2")
    before = at("Upkeep", *way, **{f"upkeep_{task}_done": "2026-11-01"})[0]
    assert before.answers[f"upkeep_{task}_done"] == "2026-11-01"
    assert at("Upkeep", *way)[0].answers[f"upkeep_{task}_done"] == ""


def test_when_all_is_done_the_next_day_is_told(at):
    today = {f"upkeep_{task}_done": "2026-11-25" for task in TASKS}
    assert at("Upkeep", **today)[1].startswith("Nothing is due today. In 7 days: filter.")
    assert at("Upkeep", **today, water_source="open")[1].startswith(
        "Nothing is due today. Tomorrow: filter."
    )


@pytest.mark.parametrize(
    ("sign", "source", "days"),
    [
        ("none", "clear", "Filter every week, line ends every 15 days."),
        ("none", "open", "Filter every day, line ends every 15 days."),
        ("brown", "clear", "Filter every week, line ends every 7 days."),
        ("green", "rain", "Filter every day, line ends every 7 days."),
        ("cloudy", "clear", "Filter every day, line ends every 7 days."),
    ],
)
def test_the_water_decides_how_often(at, sign, source, days):
    assert days in at("Upkeep", "6", water_sign=sign, water_source=source)[1]


def test_at_the_end_of_the_crop_crust_is_spoken_of(at):
    over = at("Upkeep", weeks_since_planting=60)[1]
    assert "look at Crust, slime" in over
    assert "look at Crust, slime" not in at("Upkeep")[1]
    assert "look at" not in at("Upkeep", weeks_since_planting=60, water_sign="none")[1]


def test_flushing_tells_what_this_stand_gives(at):
    high = at("Upkeep", "3", stand_height_m=2.5)[1]
    low = at("Upkeep", "3", stand_height_m=0.2, laid_line_length_m=60)[1]
    assert "fast enough" in high
    assert "That is slow" in low
    assert (
        "minutes or until clear"
        in at("Upkeep", "3", "1", "1", stand_height_m=0.2, laid_line_length_m=60)[1]
    )


def test_without_a_plot_upkeep_still_says_how(at):
    known = {"language": "en", "district": "kotsindo", "water_source": "open", "water_sign": "none"}
    assert "one end at a time" in at("Upkeep", "3", known=known)[1]
    assert "2 minutes or until clear" in at("Upkeep", "3", "1", "1", known=known)[1]


# --- the way to an amount ----------------------------------------------------------------------


def test_acid_is_last_after_flushing(at):
    first, words = at("Upkeep", "5", "1")
    assert first.state == "acid_for"
    assert words.startswith("Acid is the last help")
    assert at("Upkeep", "5", "1", "2")[0].state == "lines"


@pytest.mark.parametrize(
    ("answers", "changes", "state"),
    [
        (("1", "2"), {}, "wait_harvest"),
        (("1", "1", "1"), {}, "acid_eats"),
        (("1", "1", "2", "5"), {}, "acid_unknown"),
        (("1", "1", "2", "vinegar"), {}, "acid_name"),
        (("1", "1", "2", "3", "5"), {}, "acid_not"),
        (("1", "1", "2", "4", "98"), {}, "acid_not"),
        (("1", "1", "2", "3", "32", "2"), {}, "acid_alone"),
        (("1",), {"upkeep_acid_done": "2026-10-20"}, "acid_enough"),
        (("1",), {"upkeep_chlorine_done": "2026-11-20"}, "acid_after_chlorine"),
        (("1", "1", "2", "3", "32", "1"), {}, "acid_held"),
    ],
)
def test_what_keeps_acid_away(at, answers, changes, state):
    assert at("Upkeep", "5", "1", *answers, **changes)[0].state == state


@pytest.mark.parametrize(
    ("answers", "changes", "state"),
    [
        (("1", "2"), {}, "wait_harvest"),
        (("1", "1", "2"), {}, "chlorine_unknown"),
        (("1", "1", "1", "65"), {}, "chlorine_not"),
        (("1", "1", "1", "3.5", "2"), {}, "chlorine_alone"),
        (("1",), {"upkeep_acid_done": "2026-11-20"}, "chlorine_after_acid"),
        (("1",), {"water_sign": "brown"}, "iron"),
        (("1", "1", "1", "3.5", "1"), {}, "chlorine_held"),
    ],
)
def test_what_keeps_chlorine_away(at, answers, changes, state):
    assert at("Upkeep", "5", "2", *answers, **changes)[0].state == state


def test_acid_again_waits_for_another_crop(at):
    """Weeks ago, but in the ground since: the crop was planted before it."""
    long_ago = {"upkeep_acid_done": "2026-06-01", "weeks_since_planting": 40}
    assert at("Upkeep", "5", "1", "1", **long_ago)[0].state == "acid_enough"
    before = {"upkeep_acid_done": "2026-06-01", "weeks_since_planting": 5}
    assert at("Upkeep", "5", "1", "1", **before)[0].state == "acid_harvest"


def test_too_large_a_plot_is_not_treated_by_hand(at, to_acid):
    large = {"laid_lines": 60, "laid_line_length_m": 60}
    refused, words = at(*to_acid, "32", **large)
    assert refused.state == "acid_not"
    assert "with the helpline" in words


def test_without_a_plot_no_amount_can_be_reckoned(at, to_acid):
    known = {"language": "en", "district": "kotsindo", "water_source": "open", "water_sign": "none"}
    refused, words = at(*to_acid, "32", known=known)
    assert refused.state == "acid_not"
    assert "plot is not known" in words


def test_held_back_the_request_goes_to_the_helpline(at, to_acid):
    asked, _ = at(*to_acid, "32", "1", "1", "1")
    assert asked.place == Place("helpline", "noted")
    assert asked.answers["ticket_matter"] == "acid treatment"
    assert asked.answers["ticket_wanted"] == "yes"


def test_released_for_today_the_steps_follow_and_done_is_kept(at, to_acid, to_chlorine):
    today = {"treatment_released": "2026-11-25", "treatment_released_for": "acid:hydrochloric:32"}
    dose, words = at(*to_acid, "32", "1", **today)
    assert dose.state == "acid_dose"
    assert " mL of Hydrochloric (muriatic) acid (32%) into " in words
    done, _ = at(*to_acid, "32", "1", *["1"] * 8, **today)
    assert (done.state, done.answers["upkeep_acid_done"]) == ("due", "2026-11-25")
    today |= {"treatment_released_for": "chlorine::3.5"}
    done, _ = at(*to_chlorine, "3.5", "1", *["1"] * 7, **today)
    assert (done.state, done.answers["upkeep_chlorine_done"]) == ("due", "2026-11-25")


@pytest.mark.parametrize("day", ["2026-11-24", "2026-11-26", "yes", "", "2026-11-25T00:00"])
def test_released_for_another_day_is_not_released(at, to_acid, day):
    known = {"treatment_released": day, "treatment_released_for": "acid:hydrochloric:32"}
    assert at(*to_acid, "32", "1", **known)[0].state == "acid_held"


@pytest.mark.parametrize("what", ["acid:hydrochloric:10", "acid:citric:32", "chlorine::3.5", ""])
def test_released_for_another_chemical_or_strength_is_not_released(at, to_acid, what):
    known = {"treatment_released": "2026-11-25", "treatment_released_for": what}
    assert at(*to_acid, "32", "1", **known)[0].state == "acid_held"


def test_a_conversation_left_at_the_amount_tells_none_on_the_next_day(
    at, to_acid, dialogue, context, catalogues
):
    mark = {"treatment_released_for": "acid:hydrochloric:32"}
    left, _ = at(*to_acid, "32", "1", treatment_released="2026-11-25", **mark)
    assert left.state == "acid_dose"
    tomorrow = replace(context, today=context.today + timedelta(days=1))
    words = one_text(dialogue.show(left, tomorrow), "en", catalogues)
    assert " mL " not in words
    assert "A person rings back" in words


@dataclass(frozen=True)
class Releasing(Context):
    """A deployment that leaves the release to the answers alone."""

    release_treatments: bool = True


def test_a_deployment_may_release_but_a_helper_must_still_be_there(
    dialogue, context, tended, vocabularies, to_acid
):
    own = Releasing(context.planner, context.today, context.helpline)

    def hold(*answers):
        outcome = dialogue.begin("en", context=own, answers=tended)
        for answer in answers:
            outcome = dialogue.answer(outcome.conversation, answer, vocabularies["en"], own)
        return outcome.conversation.state

    assert hold(*to_acid, "32", "1") == "acid_dose"
    assert hold(*to_acid, "32", "2") == "acid_alone"


def test_no_question_stores_a_release(dialogue):
    """Only a person at the helpline can: callers keep nothing under that name."""
    stored = {step.state.store for step in walk(dialogue.book)}
    assert "treatment_released" not in stored


def test_cautions_stand_before_the_way_of_doing_it(dialogue):
    order = list(dialogue.book.flows["upkeep"].states)
    for first, later in (("acid_for", "acid_dose"), ("acid_dose", "acid_mix")):
        assert order.index(first) < order.index(later)
    says = {name: state.say or "" for name, state in dialogue.book.flows["upkeep"].states.items()}
    assert "NEVER water into acid" in says["acid_mix"]
    assert says["acid_mix"].index("water into the drum first") < says["acid_mix"].index("acid")
    assert "Never with acid" in says["chlorine_mix"]


def test_each_screen_but_the_longest_is_one_page_in_english(dialogue, context, tended, catalogues):
    long = {"acid_held", "acid_dose", "chlorine_held", "chlorine_dose"}
    known = {**tended, "trained_helper": "yes", "acid": "citric", "acid_pct": 5, "bleach_pct": 50}
    for step in walk(dialogue.book):
        if step.flow != "upkeep" or step.state.kind == "branch" or step.state.name in long:
            continue
        screen = dialogue.show(dialogue.place("en", "upkeep", step.state.name, known), context)
        assert len(render(screen, "en", catalogues)) == 1, step.state.name
