"""Season change: closing down, laying again, and a new crop on lines that lie."""

import pytest

from service.advice.season_words import STEPS
from service.dialogue import Place, walk
from service.text.render import one_text, render


@pytest.fixture
def at(hold, laid, catalogues):
    """Place and English words after some answers of a caller with a laid plot."""

    def at(*answers, known=None, **changes):
        outcome = hold("Season", *answers, known={**(laid if known is None else known), **changes})
        return outcome.conversation, one_text(outcome.screen, "en", catalogues)

    return at


def test_closing_down_goes_through_every_step_in_order(at):
    seen = [at("1", *["1"] * count)[0].state for count in range(12)]
    assert seen == ["scale", *STEPS, "closed"]


def test_treating_comes_before_flushing_and_lifting(at):
    assert at("1")[0].state == "scale"
    assert at("1", "2")[0].place == Place("upkeep", "clogged")
    assert at("1", "2")[0].answers["season_step"] == "flush"


@pytest.mark.parametrize("step", list(STEPS))
def test_a_step_stopped_at_is_taken_up_days_later(at, step):
    asked, words = at("1", season_step=step)
    assert asked.state == "resume"
    assert STEPS[step] in words
    assert at("1", "1", season_step=step)[0].state == step
    assert at("1", "2", season_step=step)[0].state == "scale"


def test_after_the_last_step_nothing_is_under_way(at):
    closed, _ = at("1", "1", "1", season_step="small")
    assert closed.state == "closed"
    assert at("1", season_step=closed.answers["season_step"])[0].state == "scale"


def test_every_step_has_its_guard_and_keeps_itself_when_stopped(dialogue):
    flow = dialogue.book.flows["season"]
    jumps = [(branch.guard, branch.to.state) for branch in flow.states["jump"].when if branch.guard]
    assert jumps == [(f"season_at_{step}", step) for step in STEPS]
    for step in STEPS:
        stop = next(line for line in flow.states[step].choices if "Stop" in line.option.label.text)
        assert (stop.value, stop.to.state) == (step, "paused")


def test_what_is_rolled_and_laid_is_counted(at):
    assert "Roll up 15 lines of 20 m each." in at("1", "1", season_step="roll")[1]
    assert "There must be 15 lines of 20 m." in at("2", "1", "1", "1")[1]


def test_laying_again_begins_with_the_stand_and_ends_with_cups(at):
    seen = [at("2", *["1"] * count)[0].state for count in range(6)]
    assert seen == [
        "again_stand", "again_seals", "again_main", "again_lines", "again_flush", "again_test",
    ]  # fmt: skip
    assert "mL" in at("2", *["1"] * 5)[1]
    assert at("2", *["1"] * 5, "2")[0].flow == "fault"


def test_closing_down_needs_no_plot(at, catalogues):
    known = {"language": "en", "district": "kotsindo"}
    assert "Loose rings" in at("1", "1", known=known, season_step="roll")[1]
    assert "not known here" in at("2", *["1"] * 4, known=known)[1]


def test_a_new_crop_is_taken_up_on_the_lines_as_they_lie(at):
    fits, words = at("3", "maize")
    assert fits.state == "next_fits"
    assert fits.answers["crop"] == "tomato"
    assert "Maize usually wants lines 0.75 m apart; yours lie 1 m apart" in words
    taken, _ = at("3", "maize", "1", "0")
    assert taken.state == "schedule"
    assert (taken.answers["crop"], taken.answers["weeks_since_planting"]) == ("maize", 0)


def test_the_new_crops_schedule_is_told_and_the_lines_stay(at, dialogue, context):
    water, _ = at("3", "maize", "1", "0")
    layout = context.plan(water.answers)
    assert layout.layouts[layout.recommended].line_count == 15
    assert "L a day" in at("3", "maize", "1", "0", "1")[1]


def test_a_crop_that_fits_is_said_to(at):
    assert "your lines lie right for it" in at("3", "tomato")[1]


def test_the_old_crop_may_stay(at):
    assert at("3", "maize", "2", "0")[0].answers["crop"] == "tomato"


def test_a_plot_only_planned_is_first_said_to_lie(at, planted):
    known = {"language": "en", **planted}
    assert at("3", known=known)[0].state == "as_planned"
    assert at("3", "1", known=known)[0].state == "next_crop"
    assert at("3", "2", known=known)[0].state == "need_plot"


def test_each_screen_is_one_page_in_english(dialogue, context, laid, catalogues):
    for step in walk(dialogue.book):
        name = step.state.name
        if step.flow != "season" or step.state.kind == "branch" or name in ("next_crop", "months"):
            continue
        known = {**laid, "season_step": "flush", "next_crop": "maize"}
        screen = dialogue.show(dialogue.place("en", "season", name, known), context)
        assert len(render(screen, "en", catalogues)) == 1, name
