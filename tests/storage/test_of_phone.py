"""What an operator sees of one phone: its conversations, texts, messages, consents; every store."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from service.records import Consent, Inbound, Message, Phone


@pytest.fixture
def work(store, a_phone, now):
    with store.unit_of_work() as work:
        work.phones.add(a_phone)
        work.phones.add(Phone("p2", "+254700000002", None, now))
        yield work


def test_a_phone_is_found_by_its_id(work, a_phone):
    assert work.phones.get("p1") == a_phone
    assert work.phones.get("p9") is None


def test_open_conversations_the_latest_first(work, a_session, now):
    later = replace(
        a_session, id="s2", channel="sms", gateway_session="g2", updated_at=now + timedelta(1)
    )
    closed = replace(a_session, id="s3", gateway_session="g3", open=False)
    other = replace(a_session, id="s4", gateway_session="g4", phone_id="p2")
    for one in (a_session, later, closed, other):
        work.sessions.add(one)
    assert work.sessions.open_of_phone("p1") == (later, a_session)
    assert work.sessions.get("s3") == closed
    assert work.sessions.get("s9") is None


def test_the_last_texts_of_a_phone_the_newest_first(work, now):
    texts = [
        Inbound(f"i{n}", "http", f"x{n}", phone, "1", "h", f"text {n}", now + timedelta(hours=n))
        for n, phone in enumerate(("p1", "p1", "p2", "p1"))
    ]
    for one in texts:
        work.inbox.add(one)
    assert work.inbox.of_phone("p1") == (texts[3], texts[1], texts[0])
    assert work.inbox.of_phone("p1", 2) == (texts[3], texts[1])
    assert work.inbox.of_phone("p9") == ()


def test_the_last_messages_to_a_phone_the_newest_first(work, now):
    def message(number, phone_id, place, **more):
        return Message(
            id=f"m{number}", phone_id=phone_id, channel="sms", kind="answer",
            dedupe_key=f"k{number}", text=f"text {number}", language="en", encoding="gsm7",
            parts=1, priority=1, created_at=now + timedelta(hours=number // 2), place=place,
            not_before=now, not_after=now + timedelta(days=1), next_try=now, **more,
        )  # fmt: skip

    first, second = message(0, "p1", 0), message(1, "p1", 1)
    other, ended = message(2, "p2", 0), message(3, "p1", 0, state="delivered", open=False)
    for one in (first, second, other, ended):
        assert work.outbox.add(one)
    assert work.outbox.of_phone("p1") == (ended, second, first)
    assert work.outbox.of_phone("p1", 1) == (ended,)
    assert work.outbox.known(["k0", "k2", "k9"]) == {"k0", "k2"}
    assert work.outbox.known([]) == frozenset()


def test_the_whole_ledger_of_a_phone_the_newest_first(work, now):
    lines = [
        Consent("c1", "p1", now, True, "yes", "ussd"),
        Consent("c2", "p1", now + timedelta(1), False, "stop", "sms"),
        Consent("c3", "p1", now + timedelta(2), True, "yes", "ussd", "research", "officer"),
        Consent("c4", "p2", now, True, "yes", "ussd"),
    ]
    for one in lines:
        work.consents.add(one)
    assert work.consents.of_phone("p1") == (lines[2], lines[1], lines[0])
