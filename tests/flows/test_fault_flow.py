"""The fault conversation: from what is seen, by measuring, to the cause that is really there.

A farmer stands on a plot with a fault: the network is reckoned with it, each question is answered
by what would be measured there, and the conversation must end at that fault.
"""

import random
from dataclasses import replace

import pytest

from service.advice.myplot_card import TOLD
from service.sizing.calibration import recalibrated
from service.sizing.field_plot import bottle_seconds, cup_flow, field_plot, with_bore
from service.sizing.field_tables import fault_causes
from service.sizing.troubles import Trouble, TroubledBlock
from service.text.measure import measure
from service.text.render import one_text, render

LAID = {
    "language": "en",
    "district": "kotsindo",
    "laid": TOLD,
    "laid_lines": 15,
    "laid_line_length_m": 20,
    "laid_minutes": 0,
    "crop": "tomato",
    "weeks_since_planting": 5,
    "tank_volume_l": 500,
    "stand_height_m": 1.5,
}
"""A plot told in six answers, never timed."""
CUP_MINUTES, BOTTLE_L = 6, 5


class Farmer:
    """Answers as somebody does who measures what is really there."""

    def __init__(self, plot, trouble, seed=1, factor=1.0, bore=1.0, line=1, **told):
        self.true = with_bore(recalibrated(plot.one, factor), bore)
        self.trouble, self.line, self.told = trouble, line, told
        self.chance = random.Random(seed)

    def _cup(self, line, emitter):
        flow = cup_flow(self.true, line, emitter, 1.0, self.trouble)
        return str(round(flow * 1000 * CUP_MINUTES / 60 * self.chance.gauss(1, 0.03)))

    def _seconds(self, line, trouble):
        seconds = bottle_seconds(self.true, line, 1.0, BOTTLE_L, trouble)
        return str(round(seconds)) if seconds < 1200 else "0"

    def _minutes(self):
        return str(round(TroubledBlock(self.true, self.trouble).drain().empty_minutes))

    def answer(self, state):
        """What is sent at a state; None where a cause is named."""
        last = self.true.network.emitters_per_line
        measured = {
            "weak_cup": lambda: self._cup(1, 1),
            "gush_cup": lambda: self._cup(self.line, self.told["emitter"]),
            "first_cup": lambda: self._cup(self.line, 1),
            "last_cup": lambda: self._cup(self.line, last),
            "seconds": lambda: self._seconds(self.line, self.trouble),
            "without": lambda: self._seconds(1, replace(self.trouble, filter_out=True)),
            "minutes": self._minutes,
        }
        plain = {
            "handle": "1",
            "end_dry": "1",
            "level": "1",
            "which_line": str(self.told.get("place", self.line)),
            "bottle": str(BOTTLE_L),
            "gush_place": self.told.get("metres", "5.9"),
            "hole": self.told.get("hole", "2"),
            "drop": self.told.get("drop", "0"),
            "slower": "1",
            "weak_full": "1",
            "sooner": "1",
            **dict.fromkeys(("filter_why", "before_lines_why", "clogged_why"), "1"),
            **dict.fromkeys(("silt_why", "pinched_why", "cracked_why", "tank_leaks_why"), "1"),
        }
        return measured[state]() if state in measured else plain.get(state)


@pytest.fixture(scope="module")
def plot(context):
    return field_plot(context.card(LAID), context.tables.pipes)


@pytest.fixture
def look(dialogue, context, vocabularies):
    """Hold the conversation with a farmer, from what is seen to the screen where it stops."""

    def look(seen, farmer, known=LAID):
        outcome = dialogue.begin("en", flow="fault", context=context, answers=known)
        for answer in seen:
            outcome = dialogue.answer(outcome.conversation, answer, vocabularies["en"], context)
        for _ in range(20):
            answer = farmer.answer(outcome.conversation.state)
            if answer is None:
                return outcome
            outcome = dialogue.answer(outcome.conversation, answer, vocabularies["en"], context)
        raise AssertionError(f"no cause is named: {outcome.conversation.history}")

    return look


@pytest.fixture
def at(dialogue, context, vocabularies, catalogues):
    """The screen after some answers, in English, for a caller whose plot is laid."""

    def at(*answers, known=LAID):
        outcome = dialogue.begin("en", flow="fault", context=context, answers=known)
        for answer in answers:
            outcome = dialogue.answer(outcome.conversation, answer, vocabularies["en"], context)
        return outcome.conversation.state, one_text(outcome.screen, "en", catalogues)

    return at


WEAK, FAR, LINE = ("2", "2"), ("2", "3"), ("2", "4")
GUSH, FAST, SLOW = ("3", "1"), ("4", "1"), ("4", "2")

FAULTS = {
    "half the filter and more": (WEAK, Trouble(filter_closed=0.9), {}, "filter"),
    "a valve that hardly opens": (WEAK, Trouble(inlet_k=2000), {}, "before_lines"),
    "half of each dripper": (WEAK, Trouble(share=0.5), {}, "clogged"),
    "nothing wrong": (WEAK, Trouble(), {}, "weak_fair"),
    "a kink in the middle": (
        FAR, Trouble().with_line(4, pinch=(30, 1e6)), {"line": 4}, "pinched",
    ),
    "silt at the end": (
        FAR, Trouble().with_line(4, shares=(1.0,) * 50 + (0.2,) * 16), {"line": 4}, "silt",
    ),
    "a far end as it should be": (FAR, Trouble(), {"line": 4}, "far_fair"),
    "a line shut at its tap": (LINE, Trouble().with_line(7, shut=True), {"line": 7}, "tap_blocked"),
    "a line crushed near its tap": (
        LINE, Trouble().with_line(7, pinch=(3, 1e9)), {"line": 7, "hole": "1"}, "pinched",
    ),
    "a line of blocked drippers": (
        LINE, Trouble().with_line(7, shares=(0.1,) * 66), {"line": 7}, "clogged",
    ),
    "a cracked dripper": (
        GUSH,
        Trouble().with_line(9, shares=(1.0,) * 19 + (3.0,) + (1.0,) * 46),
        {"line": 9, "emitter": 20, "metres": "5.85"},
        "cracked",
    ),
    "a dripper like the others": (
        GUSH, Trouble(), {"line": 9, "emitter": 20, "metres": "5.85"}, "gush_fair",
    ),
    "a hole in the main pipe": (FAST, Trouble(hole=(5, 4e-5)), {"drop": "0"}, "line_leaks"),
    "a tank that leaks": (FAST, Trouble(hole=(1, 4e-5)), {"drop": "6"}, "tank_leaks"),
    "a tank as it should be": (FAST, Trouble(), {}, "time_fair"),
    "a slow tank by its filter": (SLOW, Trouble(filter_closed=0.92), {}, "filter"),
    "a slow tank by its drippers": (SLOW, Trouble(share=0.5), {}, "clogged"),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_the_fault_that_is_there_is_named(look, plot, fault):
    seen, trouble, told, cause = FAULTS[fault]
    for seed in range(3):
        # What nobody measured differs from plot to plot: bores and printed flows.
        unknown = {"factor": (1.0, 0.95, 1.05)[seed], "bore": (1.0, 1.02, 0.95)[seed]}
        outcome = look(seen, Farmer(plot, trouble, seed, **unknown, **told))
        assert outcome.conversation.state == cause, outcome.conversation.answers


SHAPES = {
    "lines on both sides, uphill and downhill": {
        "laid_sides": 2, "laid_lines": 20, "rise_along_length_m": 0.4, "rise_along_width_m": 0,
    },
    "two valves": {"laid_blocks": 2, "laid_lines": 24},
    "short lines of wide drippers": {
        "laid_line_length_m": 9, "emitter_spacing_m": 0.5, "emitter_flow_lph": 1.6,
    },
    "a thin main pipe": {"main_pipe": "20", "laid_lines": 30, "laid_line_length_m": 25},
}  # fmt: skip


def _end_silted(count):
    sound = round(0.75 * count)
    return (1.0,) * sound + (0.2,) * (count - sound)


def _cracked(count):
    return (1.0,) * 4 + (3.5,) + (1.0,) * (count - 5)


OF_A_LINE = {
    "silt": (FAR, lambda count: {"shares": _end_silted(count)}),
    "pinched": (FAR, lambda count: {"pinch": (count // 2, 1e7)}),
    "tap_blocked": (LINE, lambda count: {"shut": True}),
    "clogged": (LINE, lambda count: {"shares": (0.1,) * count}),
    "cracked": (GUSH, lambda count: {"shares": _cracked(count)}),
}


@pytest.mark.parametrize("cause", OF_A_LINE)
@pytest.mark.parametrize("shape", SHAPES)
def test_a_faulty_line_is_told_on_other_plots_too(look, context, shape, cause):
    known = {**LAID, **SHAPES[shape]}
    plot = field_plot(context.card(known), context.tables.pipes)
    seen, wrong = OF_A_LINE[cause]
    place = 5
    line = plot.lines_at(place)[0]
    trouble = Trouble().with_line(line, **wrong(plot.one.network.emitters_per_line))
    spacing = plot.one.card.dripline.emitter_spacing_m
    farmer = Farmer(plot, trouble, line=line, place=place, emitter=5, metres=f"{spacing * 4.5:.2f}")
    assert look(seen, farmer, known).conversation.state == cause


def test_a_measured_plot_sees_smaller_faults(look, context):
    """On a low stand the print may be a fifth off; a plot that was timed is known better."""
    low = {**LAID, "stand_height_m": 0.5}
    plot = field_plot(context.card(low), context.tables.pipes)
    farmer = Farmer(plot, Trouble(share=0.75))
    assert look(WEAK, farmer, low).conversation.state == "weak_fair"
    record = {
        "plot": "15x20/500/0.5",
        "day": "2026-11-01",
        "by": "minutes",
        "minutes": plot.one.drains[0].empty_minutes,
    }
    known = {**low, "measurements": [record]}
    assert look(WEAK, farmer, known).conversation.state == "clogged"


def test_the_reason_gives_both_numbers(at):
    state, words = at("2", "2", "1", "1", "20", "5", "50")
    assert state == "clogged_why"
    assert words.startswith("Full in 50 s. A sound line fills it in about 4")
    assert "drippers are blocked" in words


def test_after_the_repair_the_same_measurement_says_that_it_is_good(look, plot, at):
    """The cup under the same dripper again, once the filter is clean."""
    farmer = Farmer(plot, Trouble())
    again = farmer.answer("weak_cup")
    state, words = at("2", "2", "1", "1", "15", "5", "160", "45", "1", "2", "1", "1", again)
    assert state == "weak_fair"
    assert "That is right" in words


# --- danger comes first --------------------------------------------------------------------------


def test_danger_is_the_first_line(at):
    _, words = at()
    assert words.splitlines()[1] == "1 Someone hurt or in danger"


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("1", ("Rinse now with much clean water, 20 minutes", "clinic")),
        ("2", ("Do not make them vomit", "emergency number")),
        ("4", ("Keep everybody away", "Nobody climbs")),
        ("5", ("Do not touch them before the current is off",)),
        ("6", ("emergency number or a clinic",)),
    ],
)
def test_words_at_once_for_each_danger(at, key, words):
    _, said = at("1", key)
    assert all(each in said for each in words)


def test_danger_needs_neither_plot_nor_number(at):
    assert at("1", "1", known={"language": "en"})[1].startswith("Rinse now")


# --- without a plot, and with a planned one ------------------------------------------------------


def test_without_a_plot_the_looks_come_first_and_then_the_plot_is_asked(at):
    bare = {"language": "en"}
    assert at("2", "2", known=bare)[0] == "handle"
    assert at("2", "2", "1", "1", known=bare)[0] == "need_plot"
    assert at("2", "5", known=bare)[0] == "dirt"
    assert at("2", "1", "1", known=bare)[0] == "first_end"


def test_a_planned_plot_is_judged_once_it_is_said_to_lie_so(at, planted):
    known = {**planted, "language": "en"}
    state, words = at("2", "2", "1", "1", known=known)
    assert state == "as_planned"
    assert "20 lines of 20 m" in words
    assert at("2", "2", "1", "1", "1", known=known)[0] == "weak_cup"
    assert at("2", "2", "1", "1", "2", known=known)[0] == "need_plot"


def test_a_line_that_is_not_there_is_counted_again(at):
    state, words = at("2", "4", "1", "16")
    assert state == "line_again"
    assert words.startswith("You told of 15 lines.")
    assert at("2", "4", "1", "16", "15")[0] == "bottle"


def test_a_plot_told_anew_meanwhile_does_not_break_the_screen(dialogue, context, catalogues):
    """Measured on line 14; then the plot was told to have 3 lines, and the call is taken up."""
    known = {**LAID, "laid_lines": 3, "fault_seen": "line", "fault_line": 14, "fault_tank_share": 1}
    known |= {"fault_bottle_l": 5, "fault_bottle_s": 50}
    conversation = dialogue.place("en", "fault", "hole", known)
    words = one_text(dialogue.show(conversation, context), "en", catalogues)
    assert words.startswith("These answers make no plot.")


def test_with_several_valves_the_right_one_is_named(at):
    """15 lines behind two valves: the first 8 lie behind valve 1."""
    two = {**LAID, "laid_blocks": 2}
    assert at("2", "2", "1", "1", known=two)[1].startswith("Valve 1 alone open.")
    assert at("2", "4", "1", "9", known=two)[1].startswith("Valve 2 alone open.")
    assert not at("2", "2", "1", "1")[1].startswith("Valve")


# --- looks and simple matters --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("answers", "state"),
    [
        (("2", "2", "2"), "valve"),
        (("2", "2", "1", "4"), "tank_low"),
        (("2", "3", "2"), "end_leaks"),
        (("2", "1", "4"), "tank_empty"),
        (("2", "1", "1", "1"), "clogged"),
        (("2", "1", "1", "2", "1"), "filter"),
        (("2", "1", "1", "2", "2", "1"), "air_lock"),
        (("2", "1", "1", "2", "2", "2"), "outlet"),
        (("2", "5", "1"), "dirt"),
        (("2", "5", "9"), "many_dry"),
        (("3", "2"), "cut"),
        (("3", "3"), "joint"),
        (("3", "4", "0"), "tank_tight"),
        (("3", "4", "3", "1"), "tank_leaks"),
        (("3", "5"), "low_side"),
        (("5", "1", "1", "30", "1"), "pump"),
        (("5", "2", "1"), "salt"),
        (("5", "2", "2"), "white"),
        (("5", "3"), "slime"),
        (("5", "4"), "bites"),
        (("5", "5"), "stolen"),
        (("5", "6"), "wilt"),
    ],
)
def test_each_way_leads_where_it_should(at, answers, state):
    assert at(*answers)[0] == state


def test_drippers_above_the_water_cannot_run(at):
    """A tank on the ground, and ground that climbs 5 m over 20 m: few drippers lie below it."""
    level = {**LAID, "stand_height_m": 0}
    assert at("2", "1", "1", known=level)[0] == "first_end"
    steep = {**level, "rise_along_length_m": 5, "rise_along_width_m": 0}
    assert at("2", "1", "1", known=steep)[0] == "too_high"


def test_the_pump_in_litres_minutes_and_todays_water(at):
    """20 L in 30 s: 2400 L an hour, so 500 L take 12.5 min; cautions before it."""
    assert "Engine fumes kill" in at("5", "1")[1]
    words = at("5", "1", "1", "30")[1]
    assert words.startswith("About 2400 L an hour.\nA full tank takes 12 min.")
    assert "Today's water" in words


def test_a_leaking_tank_in_litres(at):
    """3 cm in half an hour from 0.5 m²: 15 L, so 30 L an hour."""
    assert "About 30 L an hour leave the tank" in at("3", "4", "3")[1]


def test_a_person_hears_what_was_measured(at):
    state, words = at("2", "2", "1", "1", "20", "5", "50", "1", "3")
    assert state == "person"
    assert "15 lines of 20 m" in words
    assert "cup 20 mL in 6 min" in words
    assert "5 L in 50 s" in words


# --- the table and the flow agree ----------------------------------------------------------------


def test_every_cause_of_the_table_is_a_state_of_the_flow(dialogue):
    states = dialogue.book.flows["fault"].states
    missing = {row.cause for row in fault_causes().values()} - set(states)
    assert missing == set()


def test_every_english_screen_is_one_page(dialogue, catalogues):
    for flow in ("fault", "myplot", "check"):
        for state in dialogue.book.flows[flow].states.values():
            if state.kind == "branch" or state.show or state.options:
                continue
            conversation = dialogue.place("en", flow, state.name, {"language": "en"})
            pages = render(dialogue.show(conversation), "en", catalogues)
            assert len(pages) == 1, (flow, state.name, measure("\n".join(pages)))
