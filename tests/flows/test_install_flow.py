"""Installing, from the stand to the last line end, in the plot's own numbers."""

import pytest

from service.advice.install_words import STEPS
from service.dialogue import Place, walk
from service.text.render import one_text, render

CARE = ("Install",)


@pytest.fixture
def at(hold, planted, catalogues):
    """Place and English words after some answers of a caller who planned a plot."""

    def at(*answers, known=None, **changes):
        whole = {"language": "en", **(planted if known is None else known), **changes}
        outcome = hold(*CARE, *answers, known=whole)
        return outcome.conversation, one_text(outcome.screen, "en", catalogues)

    return at


def at_step(at, step, **changes):
    """Words of a step, reached as a caller who stopped there."""
    return at("1", install_step=step, **changes)


def test_the_builders_caution_stands_before_everything(at):
    assert at()[1].startswith("Full tank: 0.5 t. A builder must make and check the stand")


def test_done_and_next_lead_through_every_step_in_the_order_of_the_work(at):
    seen = [at()[0].state]
    for count in range(1, 21):
        seen.append(at(*["1"] * count)[0].state)
    assert seen == ["care", *STEPS, "lies"]
    last = at(*["1"] * 21)
    assert last[0].state == "done"
    assert last[0].answers["install_step"] == "done"


def test_the_stand_is_tried_with_water_before_any_pipe_or_line_is_laid():
    order = list(STEPS)
    assert order.index("stand") < order.index("tank") < order.index("try") < order.index("main")
    assert order.index("seals") < order.index("rinse_main") < order.index("lines")
    assert order.index("connect") < order.index("flush_lines") < order.index("test")


def test_the_marks_are_those_of_this_layout_in_metres_from_the_tank(at):
    words = at_step(at, "marks")[1]
    assert "20 marks, from the tank: first 0.5 m, then every 1 m, last 19.5 m." in words
    listed = at("1", "3", install_step="marks")[1]
    assert listed.startswith("Marks from the tank, in m: 0.5, 1.5, 2.5,")
    assert "18.5, 19.5." in listed


def test_the_list_of_marks_is_one_text_on_this_plot(hold, planted, catalogues):
    known = {"language": "en", **planted, "install_step": "marks"}
    outcome = hold(*CARE, "1", "3", known=known)
    assert len(render(outcome.screen, "en", catalogues)) == 1


def test_counts_and_cuts_are_those_of_this_layout(at):
    assert "20 seals and take-offs." in at_step(at, "seals")[1]
    assert "Cut 20 lines of 20.5 m: 20 m on the ground." in at_step(at, "lines")[1]
    assert "19.5 m of" in at_step(at, "main")[1]
    assert "Stand: 2.5 m" in at_step(at, "stand")[1]


def test_a_tank_in_the_middle_has_two_holes_at_each_mark(at):
    laid = {
        "tank_position": "mid_side",
        "lines_run": "length",
        "blocks": 1,
        "line_spacing_m": 1.0,
        "bore_mm": 28.2,
        "line_count": 40,
        "line_length_m": 10.0,
    }
    assert "20 marks, a hole to either side" in at_step(at, "marks", laid=laid)[1]
    assert "40 seals and take-offs." in at_step(at, "seals", laid=laid)[1]
    assert "down the middle" in at_step(at, "main", laid=laid)[1]


def test_with_blocks_each_valve_has_its_place(at):
    laid = {
        "tank_position": "corner",
        "lines_run": "length",
        "blocks": 2,
        "line_spacing_m": 1.0,
        "bore_mm": 17.4,
        "line_count": 20,
        "line_length_m": 20.0,
    }
    words = at_step(at, "main", laid=laid)[1]
    assert "Block 1: valve at 0.5 m, its own pipe on to 9.5 m." in words
    assert "Block 2: valve at 10.5 m, its own pipe on to 19.5 m." in words
    assert "One block at a time." in at_step(at, "flush_lines", laid=laid)[1]


@pytest.mark.parametrize("step", list(STEPS))
def test_a_step_stopped_at_is_taken_up_days_later(at, step):
    where, words = at(install_step=step)
    assert where.state == "resume"
    assert STEPS[step] in words
    assert at("1", install_step=step)[0].state == step
    assert at("2", install_step=step)[0].state == "care"


def test_stopping_keeps_the_step_and_says_what_to_shut(at):
    where, words = at("1", "1", "1", "2")
    assert where.answers["install_step"] == "tank"
    assert words.startswith("Shut the valve")
    assert at("1", "1", "1", "2", "1")[0].state == "resume"


def test_a_stand_that_leans_stops_the_work(at):
    leans, words = at("1", "2", install_step="try")
    assert leans.state == "leans"
    assert "call a builder" in words
    assert leans.answers["install_step"] == "try"
    assert at("1", "2", "1", install_step="try")[0].state == "try"


def test_a_wrong_hole_and_a_join_lead_back_to_the_work(at):
    assert "plug" in at("1", "3", install_step="punch")[1]
    assert at("1", "3", "1", install_step="punch")[0].state == "punch"
    assert "joiner" in at("1", "3", install_step="lines")[1]
    assert at("1", "3", "1", install_step="lines")[0].state == "lines"


def test_what_is_not_as_it_should_be_leads_to_the_faults(at):
    assert at("1", "2", install_step="test")[0].flow == "fault"


def test_when_it_lies_the_layout_is_fixed(at):
    fixed, _ = at("1", "1", "1", install_step="spares")
    assert fixed.state == "done"
    assert fixed.answers["laid"]["line_count"] == 20


def test_a_plot_that_lies_already_is_not_asked_about_again(at, laid):
    assert at("1", "1", known={**laid, "install_step": "spares"})[0].state == "done"


def test_without_a_plot_it_is_planned_first(at):
    where, _ = at(known={"district": "kotsindo"})
    assert where.state == "need_plot"
    assert at("1", known={"district": "kotsindo"})[0].place == Place("plan", "length")


def test_every_step_has_its_guard_its_title_and_its_state(dialogue):
    flow = dialogue.book.flows["install"]
    jumps = [(branch.guard, branch.to.state) for branch in flow.states["jump"].when if branch.guard]
    assert jumps == [(f"install_at_{step}", step) for step in STEPS]
    for step in STEPS:
        stop = next(line for line in flow.states[step].choices if "Stop" in line.option.label.text)
        assert (stop.value, stop.to.state) == (step, "paused")


def test_each_screen_of_the_work_is_one_page_in_english(dialogue, context, planted, catalogues):
    several = {"parts", "all_marks"}
    for step in walk(dialogue.book):
        if step.flow != "install" or step.state.kind == "branch" or step.state.name in several:
            continue
        known = {"language": "en", **planted, "install_step": "marks"}
        screen = dialogue.show(dialogue.place("en", "install", step.state.name, known), context)
        assert len(render(screen, "en", catalogues)) == 1, step.state.name
