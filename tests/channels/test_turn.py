"""A turn, whole: begin, answer, page, drop, repeat, clash, fail."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from service.channels import Conflict, Incoming, Reply
from service.records import ConcurrentChange

OFFER = "You stopped before the end.\n1 Go on where you stopped\n2 Start again"
MENU = "What do you need?\n1 Plan a plot\n2 Read on\n3 Nothing\n4 Break\n5 Change language"


def test_a_conversation_from_the_first_screen_to_the_last(caller: Any) -> None:
    assert caller.dial() == Reply("Choose a language:\n1 English\n2 Kiswahili", True)
    assert caller.say("1") == Reply(MENU, True)
    assert caller.say("1") == Reply("How long?", True)
    assert caller.say("25,5 m") == Reply("Which crop?\n1 Tomato\n2 Onion", True)
    assert caller.say("onion").text.startswith("25.5 m of onion on 2026-07-01.")


def test_a_last_screen_of_several_pages_ends_on_its_last_page(caller: Any) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    first, second = caller.say("1"), caller.say("#")
    third = caller.say("#")
    assert (first.more, second.more, third.more) == (True, True, False)
    assert first.text.endswith("\n# More")
    assert third.text.endswith("Sentence 6 of the result, with some more words.")
    assert caller.dial().text == MENU


def test_more_shows_the_next_page_and_after_the_last_the_first(caller: Any) -> None:
    caller.dial()
    caller.say("1")
    pages = [caller.say("2"), caller.say("#"), caller.say("more")]
    told = "\n".join(page.text for page in pages)
    assert all(f"number {n} of many" in told for n in range(1, 13))
    assert [page.text.endswith("# More") for page in pages] == [True, True, False]
    assert caller.say("#").text == pages[0].text
    assert caller.say("1").text == MENU


def test_more_on_a_short_screen_shows_it_again(caller: Any) -> None:
    caller.dial()
    assert (
        caller.say("#").text == caller.say("#").text == "Choose a language:\n1 English\n2 Kiswahili"
    )


def test_a_misread_answer_says_why_and_asks_again(caller: Any) -> None:
    caller.dial()
    caller.say("1")
    caller.say("1")
    reply = caller.say("long")
    assert reply.text != "How long?"
    assert reply.text.endswith("How long?")
    assert caller.say("20").text.startswith("Which crop?")


def test_a_dropped_conversation_with_answers_is_offered_at_the_next_dial(caller: Any) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    assert caller.dial() == Reply(OFFER, True)
    assert caller.say("1").text == "Which crop?\n1 Tomato\n2 Onion"
    assert caller.say("1").text.startswith("20 m of tomato")


def test_an_offer_can_be_declined(caller: Any) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    caller.dial()
    assert caller.say("2").text == MENU
    assert caller.dial().text == MENU


def test_an_offer_is_read_as_any_menu(caller: Any) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    caller.dial()
    assert caller.say("7").text.endswith("2 Start again")
    assert caller.say("##").text.endswith("2 Start again")
    assert caller.say("Go on where you stopped").text.startswith("Which crop?")


def test_an_offer_that_was_dropped_is_made_again(caller: Any) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    assert caller.dial().text == caller.dial().text == OFFER
    assert caller.say("1").text.startswith("Which crop?")


def test_a_conversation_without_answers_is_not_offered(caller: Any) -> None:
    caller.dial()
    assert caller.dial().text.startswith("Choose a language")
    caller.say("1")
    assert caller.dial().text == MENU


def test_an_ended_conversation_is_not_offered(caller: Any) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    caller.say("**")
    assert caller.say("3") == Reply("Goodbye.", False)
    assert caller.dial().text == MENU


def test_hanging_up_keeps_the_conversation(caller: Any) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    assert caller.say("", phase="abort") == Reply("", False)
    assert caller.send("", phase="abort") == Reply("", False)
    assert caller.dial().text == OFFER


def test_hanging_up_a_call_that_never_was_is_harmless(caller: Any) -> None:
    assert caller.send("", phase="abort") == Reply("", False)
    assert caller.dial().text.startswith("Choose a language")


@pytest.mark.parametrize("word", ["stop", "STOP"])
def test_stop_ends_the_call_and_keeps_the_answers(caller: Any, word: str) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    reply = caller.say(word)
    assert reply == Reply(
        "Stopped, reminders too. Your answers are kept: dial again to go on.", False
    )
    assert caller.dial().text == OFFER
    assert not caller.say(word).more
    assert caller.dial().text == OFFER


def test_start_begins_again_from_anywhere(caller: Any) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    assert caller.say("start").text == MENU
    assert caller.dial().text == MENU


def test_start_declines_an_offer(caller: Any) -> None:
    caller.dial()
    for answer in ("1", "1", "20"):
        caller.say(answer)
    caller.dial()
    assert caller.say("start").text == MENU


def test_a_repeated_step_gets_the_same_reply_and_changes_nothing(caller: Any) -> None:
    first = caller.dial()
    assert caller.send("*100#", phase="begin") == first
    caller.say("1")
    caller.say("1")
    reply = caller.say("20")
    assert caller.send("20") == reply == caller.send("20")
    assert caller.say("2").text.startswith("20 m of onion")


def test_a_repeated_last_step_of_an_ended_call_gets_its_reply(caller: Any) -> None:
    caller.dial()
    caller.say("1")
    goodbye = caller.say("3")
    session, step = caller.session, caller.step
    caller.dial()
    caller.session, caller.step = session, step
    assert caller.send("3") == goodbye


def test_a_late_repetition_of_an_older_call_leaves_the_newer_one_alone(caller: Any) -> None:
    first = caller.dial()
    older = caller.session
    caller.dial()
    newer = caller.session
    caller.session, caller.step = older, 0
    assert caller.send("*100#", phase="begin") == first
    caller.session = newer
    assert caller.say("1").text == MENU


def test_the_same_step_with_other_words_is_refused(caller: Any) -> None:
    caller.dial()
    caller.say("1")
    with pytest.raises(Conflict, match="step 1 of this session was already taken"):
        caller.send("2")
    assert caller.say("1").text == "How long?"


def test_a_step_before_the_last_is_refused(caller: Any) -> None:
    caller.dial()
    caller.say("1")
    caller.say("1")
    caller.step = 1
    with pytest.raises(Conflict, match="step 1 lies before the last"):
        caller.send("1")
    caller.step = 2
    assert caller.say("20").text.startswith("Which crop?")


def test_a_skipped_step_answers_the_screen_that_stands(caller: Any) -> None:
    caller.dial()
    caller.step = 5
    assert caller.say("1").text == MENU


def test_the_first_message_that_we_see_begins_whatever_its_step(caller: Any) -> None:
    caller.session, caller.step = "lost", 3
    assert caller.send("20").text.startswith("Choose a language")
    assert caller.say("1").text == MENU


def test_a_call_that_another_has_replaced_is_told_to_dial_again(caller: Any) -> None:
    caller.dial()
    older, step = caller.session, caller.step
    caller.dial()
    caller.session, caller.step = older, step
    assert caller.say("1") == Reply("This conversation has ended. Dial again for a new one.", False)


def test_a_session_id_of_another_phone_is_refused(turns: Any, make_caller: Any) -> None:
    one, other = make_caller(turns), make_caller(turns, "+10005550101")
    one.dial()
    other.session = one.session
    with pytest.raises(Conflict, match="session id is in use"):
        other.send("", phase="begin")


def test_channels_do_not_disturb_each_other(turns: Any, make_caller: Any) -> None:
    phone, page = make_caller(turns), make_caller(turns, channel="handset")
    phone.dial()
    page.dial()
    assert phone.say("1").text == page.say("1").text == MENU


def test_the_language_chosen_is_kept_with_the_phone(caller: Any) -> None:
    caller.dial()
    assert caller.say("2").text.startswith("Unahitaji nini?")
    caller.say("1")
    again = caller.dial()
    assert again.text.startswith("Unahitaji nini?")
    assert again.language == "sw"


def test_an_offer_is_made_in_the_language_of_the_phone(caller: Any) -> None:
    caller.dial()
    for answer in ("2", "1", "20"):
        caller.say(answer)
    assert caller.dial().text.startswith("Uliacha kabla ya mwisho.")


def test_a_channel_may_bring_the_language(caller: Any) -> None:
    assert caller.dial(language="sw").text.startswith("Unahitaji nini?")
    assert caller.say("1").text == "Urefu gani?"
    assert caller.say("", language="en").text == "How long?"
    caller.say("20")
    assert caller.dial().text == OFFER
    assert caller.say("", language="sw").text.startswith("Uliacha kabla ya mwisho.")
    assert caller.say("1").more


def test_an_error_inside_leaves_everything_as_it_was(caller: Any) -> None:
    caller.dial()
    caller.say("1")
    with pytest.raises(LookupError):
        caller.say("4")
    assert caller.send("1").text == "How long?"


def test_an_error_at_the_first_message_leaves_no_phone_behind(
    make_turns: Any, make_caller: Any, unit_of_work: Any
) -> None:
    def fail(*_: Any) -> Any:
        raise LookupError("no pages")

    caller = make_caller(make_turns(render=fail))
    with pytest.raises(LookupError):
        caller.dial()
    with unit_of_work() as work:
        assert work.caller(caller.number, "ussd", caller.session).phone is None


def test_a_question_that_changed_meanwhile_is_asked_again(
    make_turns: Any, make_caller: Any, plan_text: str
) -> None:
    caller = make_caller(make_turns())
    caller.dial()
    caller.say("1")
    caller.say("1")
    caller.turns = make_turns(plan=plan_text.replace("How long?", "How long is it?"))
    reply = caller.say("20")
    assert reply.text.endswith("How long is it?")
    assert caller.say("30").text.startswith("Which crop?")


def test_two_that_come_at_once_move_the_session_once(caller: Any, turns: Any) -> None:
    caller.dial()
    caller.say("1")
    message = Incoming("ussd", caller.number, caller.session, caller.step + 1, "1")
    outcomes: list[Any] = []
    barrier = threading.Barrier(6)

    def send(incoming: Incoming) -> None:
        barrier.wait()
        try:
            outcomes.append(turns.take(incoming, caller.now))
        except Conflict as refused:
            outcomes.append(str(refused))

    rivals = [message, message, message, *[replace(message, text="2")] * 3]
    threads = [threading.Thread(target=send, args=(rival,)) for rival in rivals]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    replies = [one for one in outcomes if isinstance(one, Reply)]
    refusals = [one for one in outcomes if isinstance(one, str)]
    assert len(replies) == 3
    assert len(set(replies)) == 1
    assert refusals == ["step 2 of this session was already taken with other words"] * 3


def test_two_first_calls_of_a_number_at_once_keep_one_phone(turns: Any, caller: Any) -> None:
    barrier, replies = threading.Barrier(4), []

    def dial(place: int) -> None:
        barrier.wait()
        incoming = Incoming("ussd", caller.number, f"call-{place}", 0, phase="begin")
        replies.append(turns.take(incoming, caller.now))

    threads = [threading.Thread(target=dial, args=(place,)) for place in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [reply.more for reply in replies] == [True] * 4


def test_a_store_that_keeps_changing_is_given_up(
    make_turns: Callable[..., Any], make_caller: Any, unit_of_work: Any
) -> None:
    tries = []

    def busy() -> Any:
        tries.append(1)
        raise ConcurrentChange("always")

    with pytest.raises(Conflict, match="send the message again"):
        make_caller(make_turns(unit_of_work=busy)).dial()
    assert len(tries) == 4


def test_now_must_carry_a_zone(turns: Any) -> None:
    with pytest.raises(ValueError, match="without a time zone"):
        turns.take(Incoming("ussd", "+10005550100", "s", 0, phase="begin"), datetime(2026, 7, 1))


@pytest.mark.parametrize("text", ["20\x00", "\ud800", "", " ", "\n\r", "\u202e20", "9" * 182])
def test_no_text_breaks_a_turn(caller: Any, text: str) -> None:
    caller.dial()
    caller.say("1")
    caller.say("1")
    assert caller.say(text).more
    assert caller.dial().more


def test_a_message_shows_no_number_or_words_in_its_repr() -> None:
    shown = repr(Incoming("ussd", "+10005550100", "s1", 2, "my tank"))
    assert "555" not in shown
    assert "tank" not in shown
