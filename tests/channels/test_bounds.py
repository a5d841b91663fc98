"""A flood from one number, and programs that answer our answers."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from service.channels import IncomingText
from service.channels.bounds import MOST_ANSWERS, MOST_MISREADS, MOST_MISREADS_ALIKE, WITHIN

LAST = "That was many texts. The next answer is in an hour."


def consents(texter: Any) -> Any:
    with texter.unit_of_work() as work:
        return work.consents.latest(work.phones.find(texter.number).id)


@pytest.fixture
def flooding(texter: Any) -> Any:
    """Somebody who has been answered as often as anybody is within an hour."""
    said = [texter.say("**") for _ in range(MOST_ANSWERS)]
    assert all(len(one) == 1 for one in said)
    assert said[-1][0].startswith(LAST)
    assert not any(LAST in one[0] for one in said[:-1])
    return texter


def test_after_the_most_answers_of_an_hour_nothing_is_sent(flooding: Any) -> None:
    assert [flooding.say(text) for text in ("**", "1", "hello", "20 onion")] == [[]] * 4
    with flooding.unit_of_work() as work:
        phone = work.phones.find(flooding.number)
        assert len(work.inbox.of_phone(phone.id, 100)) == MOST_ANSWERS + 4
        assert work.outbox.counts() == {"accepted": MOST_ANSWERS}


def standing(texter: Any) -> Any:
    with texter.unit_of_work() as work:
        return work.caller(texter.number, "sms", "").standing


def test_a_text_that_got_no_answer_moves_nothing(flooding: Any) -> None:
    before = standing(flooding)
    assert flooding.say("1") == []
    assert standing(flooding) == before


def test_an_hour_later_there_are_answers_again(flooding: Any) -> None:
    flooding.now += WITHIN
    assert len(flooding.say("**")) == 1


def test_stop_is_heeded_in_a_flood_and_in_an_echo(flooding: Any) -> None:
    assert flooding.say("STOP") == ["No more reminders from us. Send START to get them again."]
    assert consents(flooding).given is False
    assert flooding.say("STOP") == []


def test_a_new_conversation_each_time_is_no_way_around(texter: Any) -> None:
    """Each of these begins, ends and begins anew."""
    sent = sum(len(texter.say(text)) for _ in range(MOST_ANSWERS) for text in ("1", "3", "hi"))
    assert sent == MOST_ANSWERS


def test_other_numbers_are_answered_meanwhile(flooding: Any, make_texter: Any) -> None:
    other = make_texter(flooding.texts, flooding.unit_of_work, "+10005550101")
    assert len(other.say("hello")) == 1


def test_the_same_text_that_means_nothing_is_answered_a_few_times(texter: Any) -> None:
    texter.say("hi")
    away = "I am away. I will answer when I am back."
    said = [texter.say(away) for _ in range(20)]
    assert [len(one) for one in said] == [1] * MOST_MISREADS_ALIKE + [0] * 17
    assert texter.say("1")[0].startswith("What do you need?"), "a person is answered again"


def test_other_words_each_time_are_answered_a_little_longer(texter: Any) -> None:
    texter.say("hi")
    said = [texter.say(f"Your matter is number {number}@{number}.") for number in range(30)]
    assert sum(map(len, said)) == MOST_MISREADS
    assert said[-20:] == [[]] * 20
    assert len(texter.say("2")) == 1


def test_our_own_answer_sent_back_is_not_answered(texter: Any) -> None:
    (answer,) = texter.say("hi")
    assert texter.say(answer) == []
    assert texter.say(answer.replace("\n", " \n ")) == []
    assert len(texter.say("1")) == 1


def test_two_services_that_answer_each_other_fall_silent(make_texts: Any, make_texter: Any) -> None:
    """Two of ours at each other's number, the worst that may happen, from one text on."""
    texts = make_texts()
    ends = [make_texter(texts, texts._unit_of_work, f"+1000555010{place}") for place in range(2)]
    words, sent = "hello", 0
    for turn in range(500):
        answers = ends[turn % 2].say(words)
        if not answers:
            break
        words, sent = answers[0], sent + 1
    assert sent < 2 * MOST_ANSWERS


def test_a_loop_that_nearly_says_stop_fills_no_desk(texter: Any) -> None:
    texter.say("hi")
    for _ in range(30):
        texter.say("please stop sending me messages")
    with texter.unit_of_work() as work:
        assert len(work.consents.reviews()) <= MOST_MISREADS_ALIKE


def test_an_ordinary_text_is_not_counted(texter: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A conversation costs one statement more, at its beginning."""
    counted: list[int] = []
    from service.channels import bounds

    def count(*given: Any) -> int:
        counted.append(1)
        return bounds.answered_lately(*given)

    monkeypatch.setattr("service.channels.texts.answered_lately", count)
    for text in ("hi", "1", "1", "20", "onion"):
        texter.say(text)
    assert counted == []
    texter.now += timedelta(days=2)
    texter.texts.take(IncomingText("http", "x", texter.number, "1", "hi"), texter.now)
    assert counted == [1]
