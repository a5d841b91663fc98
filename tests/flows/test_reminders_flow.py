"""Weekly reminders: asked for in plain words, on the day and at the hour that suit."""

import pytest

from service.text.render import one_text

TO_REMINDERS = ("1", "Weekly reminders")


@pytest.fixture
def talk(hold, planted):
    return lambda *answers, **known: hold(*TO_REMINDERS, *answers, known={**planted, **known})


def test_what_comes_how_often_and_how_to_end_it_is_said_before_the_yes(talk, catalogues):
    words = one_text(talk().screen, "en", catalogues)
    assert all(said in words for said in ("One free text a week", "STOP", "Do you want it?"))


def test_day_and_hour_are_kept(talk, catalogues):
    outcome = talk("1", "3", "5")
    kept = outcome.conversation.answers
    assert (kept["reminders_wanted"], kept["reminders_weekday"], kept["reminders_hour"]) == (
        "yes", 2, 18,
    )  # fmt: skip
    assert "Wednesday about 18:00" in one_text(outcome.screen, "en", catalogues)


def test_a_second_yes_is_a_new_word(talk):
    """STOP may have come between by text, which the answers do not know of."""
    first = talk("1").conversation.answers["reminders_said"]
    assert talk("1", reminders_said=first).conversation.answers["reminders_said"] > first


def test_no_is_kept_as_well(talk):
    outcome = talk("2")
    assert outcome.conversation.answers["reminders_wanted"] == "no"
    assert outcome.conversation.state == "none_sent"
