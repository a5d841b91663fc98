"""The field check: cups set where the layout says, typed line by line, judged and kept."""

import pytest

from service.advice.myplot_card import TOLD
from service.sizing.field_check import expected_ml, reckoned_flows, samplings
from service.sizing.field_plot import field_plot
from service.text.render import one_text

LAID = {
    "language": "en",
    "district": "kotsindo",
    "laid": TOLD,
    "laid_lines": 20,
    "laid_line_length_m": 20,
    "laid_minutes": 0,
    "crop": "tomato",
    "weeks_since_planting": 5,
    "tank_volume_l": 500,
    "stand_height_m": 1.5,
}
SIXTEEN = ("1", "2", "1", "1", "1")
"""Made ready, 16 cups, where they go, the tank full, 6 minutes."""
C24 = ("62 60 61 59", "60 58 57 56", "58 57 55 54", "57 55 52 41")
"""A worked field sheet: DUlq 89.6, Us 91.3."""


@pytest.fixture
def talk(dialogue, context, vocabularies):
    def talk(*answers, known=LAID, flow="check", at=context):
        outcome = dialogue.begin("en", flow=flow, context=at, answers=known)
        for answer in answers:
            outcome = dialogue.answer(outcome.conversation, answer, vocabularies["en"], at)
        return outcome

    return talk


@pytest.fixture
def said(talk, catalogues):
    def said(*answers, known=LAID):
        return one_text(talk(*answers, known=known).screen, "en", catalogues)

    return said


def test_cups_go_where_this_layout_wants_them(said):
    assert "2 16 cups: 4 lines x 4 places" in said("1")
    words = said("1", "2")
    assert "line 1, line 7, line 14, line 20" in words
    # Every 0.3 m from 0.15 m on: the 1st, 23rd, 44th and last of 66, half to even.
    assert "drippers 0.1, 6.8, 13, 19.6 m from the main pipe" in words


def test_left_and_right_of_a_middle_main_pipe(said):
    both = {**LAID, "laid_sides": 2}
    assert "left line 1, right line 1, left line 10, right line 10" in said("1", "1", known=both)
    sloping = {**both, "rise_along_length_m": 0.5, "rise_along_width_m": 0}
    assert "line 1 uphill, line 1 downhill" in said("1", "1", known=sloping)


def test_the_worked_sheet_typed_four_cups_at_a_time(said, talk):
    """C24: 89.6 +- 3.8 is good, and may be very good; Us 91.3."""
    assert talk(*SIXTEEN, *C24).conversation.state == "verdict"
    words = said(*SIXTEEN, *C24)
    assert "Evenness 89 of 100, give or take 4 with 16 cups: good. (Us 91.)" in words
    assert "It may also be very good" in words


def test_the_bands_name_their_source_beside_what_new_drippers_would_give(said):
    words = said(*SIXTEEN, *C24, "1")
    assert "90 very good, 80 good, 70 fair (Merriam and Keller)" in words
    assert "New drippers on this layout would give about 92." in words


def test_cups_one_by_one_and_a_row_half_sent(talk):
    """A row may be broken off: the next cup is asked for."""
    assert talk(*SIXTEEN, "62 60").conversation.state == "row_1_3"
    assert talk(*SIXTEEN, "62 60", "61", "59").conversation.state == "row_2"


def test_dry_cups_before_large_ones_are_read(talk):
    assert talk(*SIXTEEN, "0 120 118 115").conversation.state == "row_2"


@pytest.mark.parametrize(("choice", "cups", "rows", "row"), [
    ("1", 9, 3, "50 50 50"), ("2", 16, 4, "50 50 50 50"), ("3", 18, 6, "50 50 50"),
])  # fmt: skip
def test_each_number_of_cups_is_asked_for_to_the_last(talk, choice, cups, rows, row):
    way = ("1", choice, "1", "1", "1")
    assert talk(*way, *[row] * (rows - 1)).conversation.state == f"row_{rows}"
    outcome = talk(*way, *[row] * rows)
    assert outcome.conversation.state == "verdict"
    assert outcome.conversation.answers["check_cups"] == cups


@pytest.mark.parametrize(
    ("lines", "rows"), [(1, ["50 50 50 50"] * 2), (2, ["50 50 50 50"] * 2), (3, ["50 50 50"] * 3)]
)
def test_small_plots_have_samplings_of_their_own(talk, lines, rows):
    known = {**LAID, "laid_lines": lines}
    assert talk("1", "1", "1", "1", "1", *rows, known=known).conversation.state == "verdict"


def test_too_few_drippers_to_judge(talk):
    tiny = {**LAID, "laid_lines": 1, "laid_line_length_m": 1}
    assert talk(known=tiny).conversation.state == "too_few"


def test_no_water_in_any_cup(talk):
    assert talk(*SIXTEEN, *["0 0 0 0"] * 4).conversation.state == "all_dry"


def test_each_block_is_tested_alone(said):
    assert "Valve 2 alone open." in said(
        *SIXTEEN, "50 50 50 50", "50 50 50 50", known={**LAID, "laid_blocks": 2}
    )


# --- what it means -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def rows(context):
    """Rows as this plot fills them with drippers that give a share of their print."""

    def rows(of, minutes=6):
        one = field_plot(context.card(LAID), context.tables.pipes).one
        (sampling,) = [each for each in samplings(one) if each.cups == 16]
        flows = reckoned_flows(one, sampling, 0.9)
        cups = [
            round(expected_ml(flow, minutes) * of(line, emitter))
            for (line, emitter), flow in zip(sampling.places_of(), flows, strict=True)
        ]
        return [" ".join(map(str, cups[first : first + 4])) for first in range(0, 16, 4)]

    return rows


@pytest.mark.parametrize(
    ("of", "words"),
    [
        (lambda line, emitter: 1.0, "No cup stands out"),
        (lambda line, emitter: 1 - 0.5 * emitter / 66, "Line ends get less"),
        (lambda line, emitter: 1 - 0.5 * line / 20, "Far lines get less"),
        (lambda line, emitter: 0.5 if line == 7 else 1.0, "Low: line 7"),
        (lambda line, emitter: 0.0 if (line, emitter) == (7, 23) else 1.0, "1 cup was as good as"),
        (lambda line, emitter: 1.9 if (line, emitter) == (14, 66) else 1.0, "dripper on line 14"),
    ],
)
def test_the_gap_is_explained_by_which_cups_are_low(said, rows, of, words):
    assert words in said(*SIXTEEN, *rows(of), "1", "1")


def test_the_check_is_kept_and_calibrates_the_plot(talk, said, rows, context):
    tenth_less = rows(lambda line, emitter: 0.9)
    words = said(*SIXTEEN, *tenth_less, "1", "1", "1")
    # With a tenth less everywhere pipes take less, so the drippers are off by a little more.
    assert "drippers give about 8" in words
    kept = talk(*SIXTEEN, *tenth_less, "1", "1", "1", "1").conversation
    assert kept.state == "kept"
    (record,) = kept.answers["measurements"]
    assert (record["by"], record["day"], len(record["cups"])) == ("cups", "2026-11-25", 16)
    assert record["du_pct"] > 90
    assert context.card(kept.answers).dripline.calibration == pytest.approx(0.88, abs=0.02)


def test_a_check_may_be_left_out(talk, rows, context):
    kept = talk(*SIXTEEN, *rows(lambda *_: 0.9), "1", "1", "1", "2").conversation
    assert kept.answers["measurements"] == []
    assert context.card(kept.answers).dripline.calibration == 1.0


def test_the_last_check_is_remembered(said, talk, rows):
    kept = talk(*SIXTEEN, *C24, "1", "1", "1", "1").conversation.answers
    kept = {**kept, "measurements": [{**kept["measurements"][0], "day": "2026-08-01"}]}
    words = said(*SIXTEEN, *rows(lambda *_: 1.0), "1", known=kept)
    assert "Last check: 89." in words


def test_cups_that_fit_no_sound_plot_do_not_calibrate(said, talk, context):
    """Cups of another plot: four times as much as any dripper here gives."""
    words = said(*SIXTEEN, *["240 240 240 240"] * 4, "1", "1", "1")
    assert "These cups fit no sound plot" in words
    kept = talk(*SIXTEEN, *["240 240 240 240"] * 4, "1", "1", "1", "1").conversation.answers
    assert context.card(kept).dripline.calibration == 1.0


# --- without a plot ------------------------------------------------------------------------------


def test_without_a_plot_it_is_asked_for(talk, planted):
    assert talk(known={"language": "en"}).conversation.state == "need_plot"
    planned = {**planted, "language": "en"}
    assert talk(known=planned).conversation.state == "as_planned"
    assert talk("1", known=planned).conversation.state == "before"
