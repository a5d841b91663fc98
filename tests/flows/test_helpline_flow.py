"""The helpline: words at once where there is danger, else a request for a person to ring back."""

from dataclasses import replace

import pytest

from service.advice.helpline_words import RED_FLAGS
from service.dialogue import Place, walk
from service.sizing.upkeep import REPAIRS
from service.text.render import one_text, render


@pytest.fixture
def at(hold, laid, catalogues):
    """Place and English words after some answers."""

    def at(*answers, known=None, **changes):
        whole = {**(laid if known is None else known), **changes}
        outcome = hold("Helpline", *answers, known=whole)
        return outcome.conversation, one_text(outcome.screen, "en", catalogues)

    return at


FIRST_WORDS = {
    "splashed": ["Rinse now", "20 minutes", "wet clothes", "clinic"],
    "swallowed": ["emergency number", "Do not make them vomit", "label"],
    "gas": ["fresh air", "Nobody goes back", "clinic"],
    "stand_leans": ["Keep everybody away", "cannot fall on you", "builder"],
    "injury": ["emergency number", "clean cloth"],
}


def test_danger_is_asked_before_anything_else(at):
    assert at()[1].startswith("Is somebody hurt or in danger?")


@pytest.mark.parametrize(("number", "flag"), list(enumerate(RED_FLAGS, start=1)))
def test_one_answer_brings_the_words_and_the_next_a_call(at, number, flag):
    told, words = at(str(number))
    assert (told.state, told.answers["ticket_matter"]) == (flag, flag)
    assert all(wanted in words for wanted in FIRST_WORDS[flag])
    noted, then = at(str(number), "1")
    assert (noted.state, noted.answers["ticket_wanted"]) == ("noted", "yes")
    assert "at once" in then
    assert "0800 555" in then


def test_nobody_is_told_to_wait_for_us_before_a_doctor(at):
    assert "get medical help first" in at("1", "1")[1]
    assert "Keep everybody away from the stand" in at("4", "1")[1]


@pytest.mark.parametrize("flag", RED_FLAGS)
def test_words_of_danger_fit_one_screen_with_their_choices(
    dialogue, context, laid, catalogues, flag
):
    screen = dialogue.show(dialogue.place("en", "helpline", flag, laid), context)
    assert len(render(screen, "en", catalogues)) == 1


@pytest.mark.parametrize(
    ("sent", "flag"),
    [
        ("my son has acid in the eye", "splashed"),
        ("Bleach burned her hands", "splashed"),
        ("child drank the fertiliser", "swallowed"),
        ("there is gas and he cannot breathe", "gas"),
        ("STAND IS LEANING", "stand_leans"),
        ("worker fell, blood", "injury"),
    ],
)
def test_a_word_of_danger_in_a_free_text_brings_the_same_words(at, sent, flag):
    told, _ = at("6", sent)
    assert told.state == flag
    assert told.answers["ticket_matter"] == sent


def test_any_other_matter_becomes_a_request(at):
    asked, _ = at("6", "the last line is dry")
    assert asked.state == "wanted"
    noted, words = at("6", "the last line is dry", "yes")
    assert noted.state == "noted"
    assert noted.answers["ticket_matter"] == "the last line is dry"
    assert noted.answers["ticket_wanted"] == "yes"
    assert words.startswith("Noted. A person rings you back on this number.")
    declined, _ = at("6", "the last line is dry", "no")
    assert (declined.place, declined.answers["ticket_wanted"]) == (Place("start", "menu"), "no")


def test_without_a_number_the_field_officer_is_named(dialogue, context, laid, catalogues):
    alone = replace(context, helpline="")
    known = {**laid, "ticket_matter": "last line dry"}
    words = one_text(dialogue.show(dialogue.place("en", "helpline", "noted", known), alone), "en",
                     catalogues)  # fmt: skip
    assert "field officer" in words


def test_later_it_is_asked_whether_it_worked(at):
    asked = {"ticket_matter": "last line dry", "ticket_wanted": "yes"}
    told, words = at("6", **asked)
    assert told.state == "follow_up"
    assert "Did it work?" in words
    assert at("6", "1", **asked)[0].answers["ticket_wanted"] == "worked"
    again, _ = at("6", "2", **asked)
    assert (again.state, again.answers["ticket_wanted"]) == ("noted", "yes")
    assert at("6", "3", **asked)[0].state == "word"
    assert at("6", **{**asked, "ticket_wanted": "worked"})[0].state == "word"


def test_the_question_whether_it_worked_names_the_matter(dialogue, context, catalogues, laid):
    known = {**laid, "ticket_matter": "last line dry"}
    screen = dialogue.show(dialogue.place("en", "helpline", "follow_up", known), context)
    words = one_text(screen, "en", catalogues)
    assert words.startswith("Some days ago you asked us: last line dry. Did it work?")


# --- parts for a repair ------------------------------------------------------------------------


@pytest.fixture
def repaired(dialogue, context, laid, catalogues):
    def repaired(what, state="repair_parts", known=None):
        whole = {**(laid if known is None else known), "repair": what}
        screen = dialogue.show(dialogue.place("en", "helpline", state, whole), context)
        return one_text(screen, "en", catalogues)

    return repaired


@pytest.mark.parametrize(
    ("what", "part"),
    [
        ("cut", "1 x joiner for 16 mm dripline"),
        ("piece", "2 x joiner for 16 mm dripline"),
        ("end", "1 x line end for 16 mm dripline"),
        ("tap", "1 x take-off with rubber grommet for 16 mm dripline"),
        ("main", "1 x joiner for 20 mm pipe"),
        ("filter", "120 mesh"),
        ("valve", "full-bore ball valve"),
        ("hole", "1 x plug"),
    ],
)
def test_what_to_buy_is_told_in_the_sizes_of_the_plot(repaired, what, part):
    assert part in repaired(what)


@pytest.mark.parametrize("what", REPAIRS)
def test_without_a_plot_the_broken_part_tells_the_size(repaired, what):
    words = repaired(what, known={"language": "en"})
    assert words.startswith("Buy ")
    assert "Take the broken part to the shop." in words


@pytest.mark.parametrize("what", REPAIRS)
def test_every_repair_says_how(repaired, what):
    assert len(repaired(what, "repair_how").splitlines()) >= 3


def test_lines_are_flushed_after_a_repair(repaired):
    for what in ("cut", "piece", "tap", "main"):
        assert "flush" in repaired(what, "repair_how")


def test_upkeep_leads_to_the_parts(hold, tended):
    outcome = hold("Upkeep", "7", "1", known=tended)
    assert outcome.conversation.place == Place("helpline", "repair_parts")


# --- the same danger is spoken of in the same words everywhere --------------------------------


def test_a_stand_that_leans_is_spoken_of_alike_when_it_is_laid_and_later(dialogue):
    says = {
        step.state.say
        for step in walk(dialogue.book)
        if step.place in (Place("install", "leans"), Place("helpline", "stand_leans"))
    }
    assert len(says) == 1
