"""What is known of a plot outlives the conversation, on every channel of the phone."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

MENU = "What do you need?\n1 Plan a plot\n2 Read on\n3 Nothing\n4 Break\n5 Change language"


def plot(unit_of_work: Any, number: str = "+10005550100") -> Any:
    with unit_of_work() as work:
        return work.caller(number, "ussd", "").plot


def planned(caller: Any) -> None:
    caller.dial()
    for answer in ("1", "1", "20", "2"):
        caller.say(answer)


def test_answers_make_a_plot_that_the_next_call_knows(caller: Any, unit_of_work: Any) -> None:
    caller.dial()
    assert plot(unit_of_work) is None
    caller.say("1")
    assert plot(unit_of_work) is None
    caller.say("1")
    caller.say("20")
    kept = plot(unit_of_work)
    assert (kept.answers, kept.calibration, kept.current) == ({"length_m": 20}, None, True)
    assert kept.updated_at == caller.now
    caller.say("2")
    assert plot(unit_of_work).answers == {"length_m": 20, "crop": "onion"}
    caller.say("#")
    caller.say("#")
    caller.dial()
    with unit_of_work() as work:
        known = work.caller(caller.number, "ussd", caller.session).asked.answers
    assert known == {"language": "en", "length_m": 20, "crop": "onion"}


def test_a_turn_that_changes_nothing_writes_no_plot(caller: Any, unit_of_work: Any) -> None:
    planned(caller)
    before = plot(unit_of_work)
    caller.say("##")
    caller.say("*")
    caller.say("**")
    assert plot(unit_of_work) == before


def test_only_what_describes_the_plot_is_kept(
    make_turns: Any, make_caller: Any, unit_of_work: Any
) -> None:
    def kept(answers: Any) -> Any:
        return {name: value for name, value in answers.items() if name != "crop"}

    caller = make_caller(make_turns(kept=kept))
    planned(caller)
    assert plot(unit_of_work).answers == {"length_m": 20}


def test_texts_and_calls_share_the_plot(caller: Any, texter: Any, unit_of_work: Any) -> None:
    planned(caller)
    texter.now = caller.now
    assert texter.say("hello") == [MENU]
    texter.say("1")
    texter.say("35")
    assert plot(unit_of_work).answers == {"length_m": 35, "crop": "onion"}


def test_a_correction_elsewhere_is_not_put_back(
    caller: Any, texter: Any, unit_of_work: Any
) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    texter.now = caller.now
    texter.say("hello")
    texter.say("1")
    texter.say("35")
    assert caller.say("2").text.startswith("35 m of onion")
    assert plot(unit_of_work).answers == {"length_m": 35, "crop": "onion"}


def test_going_on_where_a_call_broke_off_takes_the_newer_answers(
    caller: Any, texter: Any, unit_of_work: Any
) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    texter.now = caller.now
    for text in ("hello", "1", "35"):
        texter.say(text)
    caller.dial()
    caller.say("1")
    assert caller.say("1").text.startswith("35 m of tomato")


def test_a_call_that_broke_off_long_ago_is_not_offered(make_turns: Any, make_caller: Any) -> None:
    caller = make_caller(make_turns(offered_for=timedelta(days=2)))
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    caller.now += timedelta(days=1)
    assert caller.dial().text.startswith("You stopped")
    caller.now += timedelta(days=3)
    assert caller.dial().text == MENU


def test_other_phones_have_other_plots(turns: Any, make_caller: Any, unit_of_work: Any) -> None:
    planned(make_caller(turns))
    other = make_caller(turns, "+10005550101")
    other.dial()
    assert plot(unit_of_work, "+10005550101") is None


def test_stop_in_a_call_is_written_down_and_start_takes_it_back(
    caller: Any, unit_of_work: Any
) -> None:
    def word() -> Any:
        with unit_of_work() as work:
            return work.consents.latest(work.phones.find(caller.number).id)

    caller.dial()
    caller.say("1")
    caller.say("start")
    assert word() is None
    caller.say("stop")
    assert (word().given, word().channel, word().words) == (False, "ussd", "stop")
    caller.dial()
    caller.say("start")
    assert word().given is True
