"""A text message, whole: begin, answer, several at once, stop, repeat, parts, idle."""

from __future__ import annotations

import threading
from datetime import timedelta
from typing import Any

import pytest

from service.channels import Conflict, IncomingText
from service.channels.texts import PARTS_WITHIN
from service.text.measure import measure

LANGUAGES = "Choose a language:\n1 English\n2 Kiswahili"
MENU = "What do you need?\n1 Plan a plot\n2 Read on\n3 Nothing\n4 Break\n5 Change language"
STOPPED = "No more reminders from us. Send START to get them again."


def ledger(texter: Any) -> Any:
    with texter.unit_of_work() as work:
        phone = work.phones.find(texter.number)
        return work.consents.latest(phone.id)


def reviews(texter: Any) -> list[str]:
    with texter.unit_of_work() as work:
        return [one.words for one in work.consents.reviews()]


def session(texter: Any) -> Any:
    with texter.unit_of_work() as work:
        return work.caller(texter.number, "sms", "").standing


def test_a_conversation_by_text(texter: Any) -> None:
    assert texter.say("hello") == [LANGUAGES]
    assert texter.say("1") == [MENU]
    assert texter.say("1") == ["How long?"]
    assert texter.say("25,5 m") == ["Which crop?\n1 Tomato\n2 Onion"]
    assert texter.say("onion")[0].startswith("25.5 m of onion on 2026-07-01.")


def test_the_reply_is_an_answer_and_goes_back_from_where_it_was_sent_to(texter: Any) -> None:
    texter.texts.take(IncomingText("http", "x1", texter.number, "777", "hi"), texter.now)
    (message,) = texter.waiting()
    assert (message.kind, message.priority, message.sender) == ("answer", 0, "777")
    assert (message.encoding, message.parts, message.language) == ("gsm7", 1, "en")
    assert message.not_after - message.not_before == timedelta(hours=12)
    assert message.dedupe_key.startswith("answer:")


def test_one_text_answers_several_questions(texter: Any) -> None:
    texter.say("hello")
    texter.say("1")
    texter.say("1")
    assert texter.say("20 onion")[0].startswith("Noted: 20 m, Onion.\n20 m of onion")


def test_a_first_text_of_answers_begins_the_conversation_they_answer(texter: Any) -> None:
    assert texter.say("20 onion")[0].startswith("Noted: 20 m, Onion.\n20 m of onion")


@pytest.mark.parametrize("text", ["20", "1", "onion", "what is this?", "", "#"])
def test_a_first_text_that_could_be_anything_gets_the_first_question(
    texter: Any, text: str
) -> None:
    assert texter.say(text) == [LANGUAGES]


def test_a_first_text_may_name_a_line_of_the_menu(texter: Any) -> None:
    texter.say("hi")
    texter.say("2")
    texter.now += timedelta(days=2)
    assert texter.say("plan a plot") == ["Urefu gani?"]
    texter.now += timedelta(days=2)
    assert texter.say("1")[0].startswith("Unahitaji nini?")


def test_a_last_screen_is_followed_by_a_new_conversation(texter: Any) -> None:
    texter.say("hi")
    texter.say("1")
    assert texter.say("3") == ["Goodbye."]
    assert texter.say("1") == [MENU]


def test_a_long_answer_stays_within_two_parts_and_offers_the_rest(texter: Any) -> None:
    texter.say("hi")
    texter.say("1")
    (first,) = texter.say("2")
    assert first.endswith("\n# More")
    assert measure(first).parts == 2
    (second,) = texter.say("more")
    told = first + second
    assert all(f"number {n} of many" in told for n in range(1, 13))


def test_more_still_works_after_a_long_last_screen(
    make_texts: Any, make_texter: Any, unit_of_work: Any
) -> None:
    from service.text.catalogues import Catalogues
    from service.text.render import render

    def small(screen: Any, language: str) -> tuple[str, ...]:
        return render(screen, language, Catalogues({}))

    texter = make_texter(make_texts(render=small), unit_of_work)
    (first,) = texter.say("20 onion")
    assert first.endswith("# More")
    assert texter.say("#")[0] != first
    assert texter.say("hello") == [LANGUAGES]


def test_the_same_text_twice_is_taken_once(texter: Any) -> None:
    assert texter.say("hi", id="a") == [LANGUAGES]
    assert texter.say("hi", id="a") == []
    assert texter.say("1", id="b") == [MENU]
    assert texter.say("1", id="b") == []
    assert texter.say("1", id="c") == ["How long?"]


def test_the_same_words_in_another_text_are_another_answer(texter: Any) -> None:
    texter.say("hi")
    assert texter.say("1") == [MENU]
    assert texter.say("1") == ["How long?"]


@pytest.mark.parametrize(
    "change", [{"text": "2"}, {"recipient": "9"}, {"number": "+10005550199"}, {"parts": 2}]
)
def test_another_text_under_the_same_id_is_refused(texter: Any, change: Any) -> None:
    texter.say("hi", id="a")
    with pytest.raises(Conflict, match="already used for another text"):
        texter.say(**{"text": "hi", "id": "a", **change})
    assert texter.say("1") == [MENU]


@pytest.mark.parametrize("word", ["STOP", " Stop. ", "acha", "arret", "बंद करो", "Stop please"])
def test_stop_works_in_every_language_and_state(texter: Any, word: str) -> None:
    texter.say("hi")
    texter.say("1")
    texter.say("1")
    assert texter.say(word) == [STOPPED]
    line = ledger(texter)
    assert (line.given, line.words, line.channel, line.at) == (False, word, "sms", texter.now)
    assert texter.say("20") == ["Which crop?\n1 Tomato\n2 Onion"]


def test_stop_is_confirmed_once_and_each_is_written_down(texter: Any) -> None:
    texter.say("hi")
    assert texter.say("stop") == [STOPPED]
    assert texter.say("STOP") == []
    assert ledger(texter).words == "STOP"


def test_a_first_text_may_be_stop_and_the_next_answers_no_unseen_menu(texter: Any) -> None:
    assert texter.say("STOP") == [STOPPED]
    assert ledger(texter).given is False
    assert texter.say("1") == [LANGUAGES]


def test_a_confirmation_is_its_own_kind(texter: Any) -> None:
    texter.texts.take(IncomingText("http", "x1", texter.number, "777", "stop"), texter.now)
    (message,) = texter.waiting()
    assert (message.kind, message.priority) == ("confirmation", 1)


def test_start_brings_reminders_back_and_the_menu(texter: Any) -> None:
    texter.say("hi")
    texter.say("1")
    texter.say("stop")
    (told,) = texter.say("START")
    assert told == f"Reminders are on. Send STOP to end them.\n{MENU}"
    assert ledger(texter).given is True
    assert texter.say("start") == [MENU]


def test_help_is_answered_even_after_stop(texter: Any) -> None:
    texter.say("hi")
    texter.say("1")
    texter.say("1")
    texter.say("stop")
    (told,) = texter.say("HELP")
    assert told.endswith("How long?")
    assert len(told) > len("How long?")


def test_help_as_a_first_text(texter: Any) -> None:
    (told,) = texter.say("msaada")
    assert told.endswith(LANGUAGES)
    assert told != LANGUAGES


@pytest.mark.parametrize("text", ["please stop sending me messages", "S T O P"])
def test_what_nearly_says_stop_goes_to_a_person(texter: Any, text: str) -> None:
    texter.say("hi")
    texter.say("1")
    texter.say("1")
    (told,) = texter.say(text)
    assert told.startswith("A person will read your text. To end our reminders send STOP.")
    assert told.endswith("How long?")
    assert reviews(texter) == [text]
    assert ledger(texter) is None


@pytest.mark.parametrize("text", ["stopcock is broken", "How do I stop the leak?"])
def test_what_only_has_the_word_in_it_does_not(texter: Any, text: str) -> None:
    texter.say("hi")
    texter.say("1")
    texter.say("1")
    texter.say(text)
    assert reviews(texter) == []


def test_after_a_while_the_next_text_begins_anew_and_the_plot_is_known(
    make_texts: Any, make_texter: Any, unit_of_work: Any
) -> None:
    texter = make_texter(make_texts(idle=timedelta(hours=2)), unit_of_work)
    texter.say("hi")
    for answer in ("1", "1", "20"):
        texter.say(answer)
    texter.now += timedelta(hours=1)
    assert texter.say("?")[0].endswith("1 Tomato\n2 Onion")
    texter.now += timedelta(hours=2)
    assert texter.say("1") == [MENU]
    assert session(texter).answers == {"language": "en", "length_m": 20}


def part(texter: Any, number: int, text: str, **more: Any) -> list[str]:
    given = {"reference": 7, "part": number, "parts": 3, "id": f"p{number}", **more}
    said: list[str] = texter.say(text, **given)
    return said


def test_the_parts_of_a_long_text_are_put_together_in_any_order(texter: Any) -> None:
    assert part(texter, 2, " oni") == []
    assert part(texter, 2, " oni") == []
    assert part(texter, 3, "on") == []
    assert part(texter, 1, "20")[0].startswith("Noted: 20 m, Onion.")
    assert part(texter, 1, "20") == []


def test_parts_of_two_texts_do_not_mix(texter: Any) -> None:
    part(texter, 1, "20")
    part(texter, 2, " fla", reference=8, id="q2")
    part(texter, 2, " oni")
    assert part(texter, 3, "on")[0].startswith("Noted: 20 m, Onion.")


def test_what_came_is_answered_when_a_part_is_missing(texter: Any) -> None:
    part(texter, 1, "20 ")
    part(texter, 3, "onion")
    assert texter.texts.take_overdue(texter.now) == 0
    texter.now += PARTS_WITHIN + timedelta(seconds=30)
    assert texter.texts.take_overdue(texter.now) == 1
    assert texter.waiting()[0].text.startswith("Noted: 20 m, Onion.")
    assert texter.texts.take_overdue(texter.now) == 0


def test_a_part_that_comes_after_ten_minutes_waits_for_itself(texter: Any) -> None:
    part(texter, 1, "20")
    part(texter, 2, " oni")
    texter.now += PARTS_WITHIN
    assert part(texter, 3, "on") == []


def test_an_error_inside_leaves_nothing_and_the_text_can_come_again(texter: Any) -> None:
    texter.say("hi")
    texter.say("1")
    with pytest.raises(LookupError):
        texter.say("4", id="z")
    with texter.unit_of_work() as work:
        assert work.inbox.find("http", "z") is None
    assert texter.say("1", id="z2") == ["How long?"]


def test_the_same_text_delivered_at_once_is_taken_once(texter: Any) -> None:
    texter.say("hi")
    barrier, results = threading.Barrier(5), []

    def deliver() -> None:
        barrier.wait()
        text = IncomingText("http", "same", texter.number, "12345", "1")
        results.append(texter.texts.take(text, texter.now))

    threads = [threading.Thread(target=deliver) for _ in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(results) == ["repeated"] * 4 + ["taken"]
    assert [message.text for message in texter.waiting()] == [MENU]


def test_several_texts_of_one_phone_at_once_are_all_taken(texter: Any) -> None:
    texter.say("hi")
    texter.say("1")
    barrier, results = threading.Barrier(4), []

    def deliver(place: int) -> None:
        barrier.wait()
        text = IncomingText("http", f"at-once-{place}", texter.number, "12345", "@@")
        results.append(texter.texts.take(text, texter.now))

    threads = [threading.Thread(target=deliver, args=(place,)) for place in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert results == ["taken"] * 4
    assert session(texter).misreads == 4


@pytest.mark.parametrize(
    "text", ["20\x00", "\ud800", " ", "\n\r", "\u202e20", "9" * 1600, "💧" * 200]
)
def test_no_text_breaks_a_conversation(texter: Any, text: str) -> None:
    texter.say("hi")
    texter.say("1")
    texter.say("1")
    assert len(texter.say(text)) == 1


def test_texts_show_no_number_or_words_in_their_repr() -> None:
    shown = repr(IncomingText("http", "a", "+10005550100", "12345", "my tank"))
    assert "555" not in shown
    assert "tank" not in shown
