"""A plot that lies already: six answers, a timed tank, and from then on the same words."""

import pytest

from service.text.render import one_text, render

SIX = ("12", "20", "tomato", "3", "500", "1.5")


@pytest.fixture
def talk(dialogue, context, vocabularies):
    """Hold the conversation about a laid plot with a caller of whom the place is known."""

    def talk(*answers, flow="myplot", known=None):
        told = {"language": "en", "district": "kotsindo", **(known or {})}
        outcome = dialogue.begin("en", flow=flow, context=context, answers=told)
        for answer in answers:
            outcome = dialogue.answer(outcome.conversation, answer, vocabularies["en"], context)
        return outcome

    return talk


@pytest.fixture
def said(talk, catalogues):
    def said(*answers, **known):
        return one_text(talk(*answers, **known).screen, "en", catalogues)

    return said


def test_six_answers_one_by_one(talk, context):
    kept = talk(*SIX, "0").conversation
    assert kept.state == "taken"
    card = context.card(kept.answers)
    assert (card.plot.length_m, card.plot.width_m) == (20, 12)
    assert card.layout.tank_position == "corner"
    assert card.dripline.calibration == 1.0
    layout = context.plan(kept.answers).layouts[0]
    assert (layout.line_count, layout.line_length_m, layout.blocks) == (12, 20, 1)


def test_six_answers_in_one_text(talk):
    outcome = talk("12 20 tomato 3 500 1.5 0")
    assert outcome.conversation.state == "taken"
    assert outcome.conversation.answers["laid_lines"] == 12


def test_paces_and_drums_are_understood_here_too(talk):
    answers = talk("12", "30 paces", "okra", "3", "2 drums", "1.5").conversation.answers
    assert answers["laid_line_length_m"] == pytest.approx(22.5)
    assert answers["tank_volume_l"] == 400


def test_what_was_not_told_is_said(said):
    words = said(*SIX, "0")
    assert "Taken as usual: level ground, loam" in words
    assert "Main pipe taken as 20 mm." in words


def test_a_timed_tank_calibrates_the_plot(talk, said, context):
    words = said(*SIX, "95")
    assert words.startswith("You timed 95 min; as printed it would be about 80 min.")
    assert "about 81% of print (7" in words
    kept = talk(*SIX, "95", "1").conversation.answers
    assert context.card(kept).dripline.calibration == pytest.approx(0.81, abs=0.02)
    layout = context.plan(kept).layouts[0]
    assert layout.empty_minutes == pytest.approx(95, abs=0.5)


@pytest.mark.parametrize("minutes", ["64", "93", "23"])
def test_a_time_is_said_again_as_it_was_told(said, minutes):
    """What we reckon is told to five minutes; what somebody measured is theirs."""
    assert said(*SIX, minutes).startswith(f"You timed {minutes} min;")


def test_from_then_on_minutes_are_the_measured_ones(talk, said, context):
    printed = context.plan(talk(*SIX, "0").conversation.answers).now
    measured = context.plan(talk(*SIX, "95", "1").conversation.answers).now
    assert measured.minutes_per_day > 1.15 * printed.minutes_per_day
    watering = said(*SIX, "95", "1", "1", "1", "1")
    assert "Full tank: 95 min." in watering


def test_a_measurement_may_be_left_out(talk, context):
    kept = talk(*SIX, "95", "2").conversation.answers
    assert context.card(kept).dripline.calibration == 1.0


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        ("20", ("I reckon about 80 min", "a leak", "an open line end", "more lines than told")),
        ("400", ("Too slow", "valve half shut", "dirty filter", "clogged drippers")),
    ],
)
def test_a_time_that_cannot_be_is_explained(said, talk, minutes, words):
    text = said(*SIX, minutes)
    assert all(each in text for each in words)
    assert talk(*SIX, minutes, "1").conversation.state == "minutes"
    assert talk(*SIX, minutes, "2").conversation.state == "lines"


def test_one_may_go_on_without_it(talk, context):
    kept = talk(*SIX, "20", "3").conversation
    assert kept.state == "taken"
    assert context.card(kept.answers).dripline.calibration == 1.0


def test_a_tank_that_cannot_empty_says_so(said):
    """On the ground, with the far ends half a metre up the slope: some never stop being dry."""
    told = {"rise_along_length_m": 0, "rise_along_width_m": 3}
    words = said("12", "20", "tomato", "3", "500", "0", "60", known=told)
    assert "Is the ground higher than told" in words


# --- more answers --------------------------------------------------------------------------------


def test_more_answers_recalibrate_and_lead_to_the_same_plan(talk, context):
    """The same minutes, but drippers printed 1.6 L/h: so they give less of their print."""
    more = ("3", "1", "1", "1", "2", "1", "1", "1", "2", "1", "1", "1.6", "30", "2", "1")
    kept = talk(*SIX, "95", "1", *more).conversation
    assert (kept.flow, kept.state) == ("plan", "care")
    card = context.card(kept.answers)
    assert card.submain.inner_diameter_mm == 21.8
    assert card.dripline.calibration == pytest.approx(0.5, abs=0.05)
    assert context.plan(kept.answers).layouts[0].empty_minutes == pytest.approx(95, abs=0.5)


def test_both_sides_spacing_and_valves_fix_the_layout(talk, context):
    kept = talk(*SIX, "0", "3", "2", "0.8", "2").conversation
    assert (kept.flow, kept.state) == ("plan", "fill")
    layout = context.plan(kept.answers).layouts[0]
    assert (layout.tank_position, layout.blocks, layout.line_count) == ("mid_side", 2, 12)
    assert layout.line_spacing_m == pytest.approx(0.8)
    assert layout.line_length_m == pytest.approx(20)


def test_a_time_that_no_longer_fits_is_not_used_and_said(talk, said, context):
    """Drippers printed 8 L/h would empty the tank in a tenth of the time."""
    kept = talk(*SIX, "95", "1").conversation.answers
    changed = {**kept, "emitter_flow_lph": 8}
    assert context.card(changed).dripline.calibration == 1.0
    words = said("4", "0", known=changed)
    assert "The time you measured does not fit" in words


# --- coming back ---------------------------------------------------------------------------------


def test_an_enrolled_caller_finds_the_plot_again(talk, said):
    kept = talk(*SIX, "95", "1").conversation.answers
    words = said(known=kept)
    assert words.startswith("Your plot: 12 lines of 20 m, tank 500 L on 1.5 m.")
    assert talk("1", known=kept).conversation.flow == "plan"
    assert talk("2", known=kept).conversation.flow == "fault"
    assert talk("3", known=kept).conversation.flow == "check"


def test_told_anew_the_old_measurement_is_not_taken_for_the_new_plot(talk, context):
    kept = talk(*SIX, "95", "1").conversation.answers
    anew = talk("6", "20", "20", "3", "500", "1.5", "0", known=kept).conversation.answers
    assert anew["laid_lines"] == 20
    assert context.card(anew).dripline.calibration == 1.0


def test_water_today_works_for_a_laid_plot(talk):
    kept = talk(*SIX, "95", "1").conversation.answers
    assert talk(flow="water", known=kept).conversation.state == "soil"


def test_a_plot_planned_here_can_be_said_to_lie_so(talk, said, context, planted):
    words = said(known=planted)
    assert words.startswith("Planned here: 20 lines of 20 m, 1 m apart.")
    kept = talk("1", "40", "1", known=planted).conversation
    assert kept.state == "taken"
    before, after = (context.plan(answers).layouts for answers in (planted, kept.answers))
    assert len(after) == 1
    chosen = before[context.plan(planted).recommended]
    assert after[0].submain_inner_diameter_mm == pytest.approx(chosen.submain_inner_diameter_mm)
    assert after[0].line_count == chosen.line_count
    assert after[0].empty_minutes == pytest.approx(40, abs=0.5)


def test_planning_another_plot_asks_first(hold, talk):
    kept = talk(*SIX, "95", "1").conversation.answers
    assert hold("1", known=kept).conversation.state == "plan_another"
    another = hold("1", "2", "1", known=kept).conversation
    assert (another.flow, another.state) == ("plan", "length")
    assert another.answers["laid"] == "no"


def test_a_caller_without_a_laid_plot_plans_at_once(hold):
    assert hold("1", "kot", "1", "1").conversation.flow == "plan"


def test_the_screens_of_the_six_answers_are_one_page_each(talk, catalogues):
    for count in range(len(SIX)):
        outcome = talk(*SIX[:count])
        if outcome.conversation.state != "which_crop":
            assert len(render(outcome.screen, "en", catalogues)) == 1


# --- several crops, by line ----------------------------------------------------------------


def test_another_crop_takes_some_of_the_lines(talk, said, context):
    kept = talk(*SIX, "0").conversation.answers
    way = ("5", "1", "onion", "4", "2")
    assert "Tomato: 8 lines, Onion: 4 lines" in said(*way, known=kept)
    card = context.card(talk(*way, known=kept).conversation.answers)
    assert [(one.crop, one.lines) for one in card.crops] == [("tomato", 8), ("onion", 4)]


def test_the_main_crop_keeps_a_line(talk, said):
    kept = talk(*SIX, "0").conversation.answers
    assert "send at most 11 lines" in said("5", "1", "onion", "12", known=kept)


def test_one_crop_on_all_lines_again(talk, context):
    kept = talk(*SIX, "0").conversation.answers
    two = talk("5", "1", "onion", "4", "2", known=kept).conversation.answers
    one = talk("5", "2", "kale", "1", known=two).conversation.answers
    assert context.card(one).crop == "kale"
