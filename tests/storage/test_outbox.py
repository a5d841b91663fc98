"""The promises of the outbox, asked of every store."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from service.records import Consent, Message, Phone, Receipt, Settlement

SECOND = timedelta(seconds=1)


@pytest.fixture
def a_message(now: datetime) -> Message:
    return Message(
        id="m1",
        phone_id="p1",
        channel="sms",
        kind="answer",
        dedupe_key="answer:1",
        text="Valve open 20 min. नमस्ते",
        language="en",
        encoding="ucs2",
        parts=1,
        priority=0,
        created_at=now,
        place=0,
        not_before=now,
        not_after=now + timedelta(hours=1),
        next_try=now,
    )


@pytest.fixture
def filled(store: Any, a_phone: Any) -> Any:
    with store.unit_of_work() as work:
        work.phones.add(a_phone)
        work.phones.add(Phone("p2", "+254700000002", None, a_phone.created_at))
        work.commit()
    return store


def put(store: Any, *messages: Message) -> list[bool]:
    with store.unit_of_work() as work:
        kept = [work.outbox.add(one) for one in messages]
        work.commit()
        return kept


def act(store: Any, name: str, *arguments: Any) -> Any:
    with store.unit_of_work() as work:
        result = getattr(work.outbox, name)(*arguments)
        work.commit()
        return result


def claim(store: Any, owner: str, now: datetime, limit: int = 10) -> list[str]:
    claimed = act(store, "claim", owner, now, now + 60 * SECOND, limit)
    return [one.message.id for one in claimed]


def settled(state: str, now: datetime, *, is_open: bool = False, **more: Any) -> Settlement:
    return Settlement(state, is_open, now, 1, settled_at=None if is_open else now, **more)  # type: ignore[arg-type]


def test_a_message_is_read_back_exactly(filled: Any, a_message: Message) -> None:
    assert put(filled, a_message) == [True]
    assert act(filled, "get", "m1") == a_message
    assert act(filled, "get", "m9") is None


def test_the_same_key_is_kept_once_and_harms_nothing(filled: Any, a_message: Message) -> None:
    other = replace(a_message, id="m2", text="other words")
    third = replace(a_message, id="m3", dedupe_key="answer:3")
    assert put(filled, a_message, other, third) == [True, False, True]
    assert put(filled, other) == [False]
    assert act(filled, "counts") == {"queued": 2}


def test_a_claim_brings_number_and_consent(filled: Any, a_message: Message, now: datetime) -> None:
    put(filled, a_message, replace(a_message, id="m2", phone_id="p2", dedupe_key="2"))
    with filled.unit_of_work() as work:
        work.consents.add(Consent("c1", "p1", now, True, "yes", "sms"))
        work.consents.add(Consent("c2", "p1", now + SECOND, False, "stop", "sms"))
        work.commit()
    one, two = act(filled, "claim", "me", now, now + SECOND, 10)
    assert (one.number, one.consent) == ("+254700000001", False)
    assert (two.number, two.consent) == ("+254700000002", None)
    assert one.message.state == "leased"
    assert one.message.lease_owner == "me"


def test_what_is_not_due_is_left(filled: Any, a_message: Message, now: datetime) -> None:
    put(filled, replace(a_message, next_try=now + SECOND))
    assert act(filled, "due", now) is False
    assert claim(filled, "me", now) == []
    assert act(filled, "due", now + SECOND) is True
    assert claim(filled, "me", now + SECOND) == ["m1"]


def test_no_two_owners_get_the_same_and_a_lease_ends(
    filled: Any, a_message: Message, now: datetime
) -> None:
    put(filled, a_message)
    assert claim(filled, "one", now) == ["m1"]
    assert claim(filled, "two", now + 59 * SECOND) == []
    assert claim(filled, "two", now + 60 * SECOND) == ["m1"]
    assert act(filled, "submitting", "one", now + 90 * SECOND) == 0
    assert act(filled, "submitting", "two", now + 90 * SECOND) == 1


def test_what_one_takes_and_has_not_committed_another_does_not_get(
    filled: Any, a_message: Message, now: datetime
) -> None:
    """Whether it waits, as for SQLite's lock, or passes over the row, as on PostgreSQL."""
    put(filled, a_message)
    got: list[list[str]] = []
    second = threading.Thread(target=lambda: got.append(claim(filled, "two", now)))
    with filled.unit_of_work() as work:
        first = work.outbox.claim("one", now, now + 60 * SECOND, 5)
        second.start()
        second.join(timeout=0.2)
        work.commit()
    second.join()
    assert ([one.message.id for one in first], got) == (["m1"], [[]])


def test_no_more_is_leased_than_asked_for_whatever_way_the_database_takes(
    filled: Any, a_message: Message, now: datetime
) -> None:
    """PostgreSQL may run a choice within an update's condition once for each row it looks at.

    Without its usual ways to join it does, and each time passes over what it has leased.
    """
    with filled.unit_of_work() as work:
        for number in range(10):
            phone = Phone(f"q{number}", f"+2547100000{number:02d}", None, now)
            work.phones.add(phone)
            own = {"id": f"n{number}", "phone_id": phone.id, "dedupe_key": f"k{number}"}
            work.outbox.add(replace(a_message, **own))
        work.commit()
    with filled.unit_of_work() as work:
        if filled.name == "postgresql":
            for way in ("hashagg", "hashjoin", "mergejoin", "material", "sort"):
                work.connection.exec_driver_sql(f"SET LOCAL enable_{way} = off")
        assert len(work.outbox.claim("me", now, now + 60 * SECOND, 2)) == 2


def test_many_owners_at_once_share_the_work(filled: Any, a_message: Message, now: datetime) -> None:
    with filled.unit_of_work() as work:
        for place in range(40):
            number = f"+2547100000{place:02d}"
            work.phones.add(Phone(f"q{place}", number, None, now))
            work.outbox.add(
                replace(a_message, id=f"n{place}", phone_id=f"q{place}", dedupe_key=f"k{place}")
            )
        work.commit()
    got: list[list[str]] = []
    barrier = threading.Barrier(4)

    def work_through(owner: str) -> None:
        barrier.wait()
        for turn in range(4):
            got.append(claim(filled, f"{owner}-{turn}", now, 5))

    threads = [threading.Thread(target=work_through, args=(f"o{n}",)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    everything = [one for some in got for one in some]
    assert len(everything) == len(set(everything))
    assert set(everything) == {f"n{place}" for place in range(40)}


def test_the_more_urgent_goes_first_and_overtakes_the_same_phones_bulk(
    filled: Any, a_message: Message, now: datetime
) -> None:
    bulk = replace(a_message, id="m0", kind="reminder", priority=2, dedupe_key="0")
    answer = replace(a_message, not_before=now + SECOND, next_try=now + SECOND)
    other = replace(bulk, id="m2", phone_id="p2", dedupe_key="2")
    put(filled, bulk, answer, other)
    assert claim(filled, "me", now + SECOND, 1) == ["m1"]
    assert claim(filled, "me2", now + SECOND, 10) == ["m0", "m2"]


def test_of_one_phone_the_earlier_goes_first(
    filled: Any, a_message: Message, now: datetime
) -> None:
    later = [
        replace(a_message, id="m2", dedupe_key="2", place=1),
        replace(a_message, id="m3", dedupe_key="3", not_before=now + SECOND, next_try=now),
    ]
    put(filled, *reversed(later), a_message)
    order = []
    for turn in range(3):
        (one,) = claim(filled, f"o{turn}", now + 2 * SECOND)
        order.append(one)
        act(filled, "settle", one, f"o{turn}", settled("accepted", now))
    assert order == ["m1", "m2", "m3"]


def test_a_message_that_waits_for_its_retry_keeps_the_order(
    filled: Any, a_message: Message, now: datetime
) -> None:
    put(filled, a_message, replace(a_message, id="m2", dedupe_key="2", place=1))
    claim(filled, "me", now)
    later = settled("queued", now + 30 * SECOND, is_open=True)
    assert act(filled, "settle", "m1", "me", later) is True
    assert claim(filled, "me2", now + SECOND) == []
    assert claim(filled, "me3", now + 30 * SECOND) == ["m1"]


def test_submitting_that_nobody_settled_becomes_uncertain(
    filled: Any, a_message: Message, now: datetime
) -> None:
    put(filled, a_message)
    claim(filled, "me", now)
    act(filled, "submitting", "me", now + 60 * SECOND)
    assert act(filled, "doubt", now + 59 * SECOND, now) == 0
    assert claim(filled, "two", now + 60 * SECOND) == []
    assert act(filled, "doubt", now + 60 * SECOND, now + 90 * SECOND) == 1
    found = act(filled, "get", "m1")
    assert (found.state, found.attempts, found.resends) == ("uncertain", 1, 0)
    assert found.uncertain_since == now + 60 * SECOND
    assert claim(filled, "two", now + 89 * SECOND) == []
    assert claim(filled, "two", now + 90 * SECOND) == ["m1"]
    act(filled, "submitting", "two", now + 200 * SECOND)
    again = act(filled, "get", "m1")
    assert (again.attempts, again.resends) == (2, 1)


def test_a_lost_lease_settles_nothing(filled: Any, a_message: Message, now: datetime) -> None:
    put(filled, a_message)
    claim(filled, "one", now)
    claim(filled, "two", now + 60 * SECOND)
    assert act(filled, "settle", "m1", "one", settled("failed", now)) is False
    assert act(filled, "get", "m1").state == "leased"


def receipt(number: int, message_id: str, state: str, at: datetime) -> Receipt:
    return Receipt(f"r{number}", message_id, state, at, at)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("states", "final"),
    [
        (["delivered"], "delivered"),
        (["delivered", "expired"], "delivered"),
        (["expired", "delivered"], "delivered"),
        (["failed", "expired"], "failed"),
        (["accepted", "failed"], "failed"),
        (["delivered", "accepted", "failed", "delivered"], "delivered"),
    ],
)
def test_receipts_only_move_forward(
    filled: Any, a_message: Message, now: datetime, states: list[str], final: str
) -> None:
    put(filled, a_message)
    claim(filled, "me", now)
    act(filled, "submitting", "me", now)
    act(filled, "settle", "m1", "me", settled("accepted", now))
    for number, state in enumerate(states):
        assert act(filled, "receive", receipt(number, "m1", state, now + SECOND)) is True
    found = act(filled, "get", "m1")
    assert (found.state, found.open, found.settled_at) == (final, False, now + SECOND)


def test_a_receipt_that_overtakes_the_answer_stands(
    filled: Any, a_message: Message, now: datetime
) -> None:
    put(filled, a_message)
    claim(filled, "me", now)
    act(filled, "submitting", "me", now + SECOND)
    act(filled, "receive", receipt(1, "m1", "delivered", now))
    assert act(filled, "settle", "m1", "me", settled("accepted", now)) is False
    assert act(filled, "get", "m1").state == "delivered"
    assert act(filled, "doubt", now + 60 * SECOND, now) == 0


def test_a_receipt_settles_what_is_uncertain(
    filled: Any, a_message: Message, now: datetime
) -> None:
    put(filled, a_message)
    claim(filled, "me", now)
    act(filled, "submitting", "me", now)
    act(filled, "doubt", now, now + SECOND)
    act(filled, "receive", receipt(1, "m1", "accepted", now))
    assert act(filled, "get", "m1").state == "accepted"
    assert claim(filled, "two", now + 90 * SECOND) == []


def test_a_receipt_for_nothing_known_is_kept(filled: Any, now: datetime) -> None:
    assert act(filled, "receive", receipt(1, "x1", "delivered", now)) is False
    assert act(filled, "receive", receipt(2, "x1", "delivered", now)) is False


def test_the_gateways_own_ids_are_matched_whenever_their_receipts_come(
    filled: Any, a_message: Message, now: datetime
) -> None:
    put(filled, a_message)
    claim(filled, "me", now)
    act(filled, "submitting", "me", now)
    assert act(filled, "receive", receipt(1, "gw-2", "delivered", now)) is False
    accepted = settled("accepted", now, message_ids=("gw-1", "gw-2"))
    act(filled, "settle", "m1", "me", accepted)
    assert act(filled, "get", "m1").state == "accepted"
    assert act(filled, "receive", receipt(2, "gw-1", "accepted", now)) is True
    assert act(filled, "get", "m1").state == "accepted"
    assert act(filled, "receive", receipt(3, "gw-1", "delivered", now)) is True
    assert act(filled, "get", "m1").state == "delivered"


def test_one_part_that_failed_fails_the_message(
    filled: Any, a_message: Message, now: datetime
) -> None:
    put(filled, a_message)
    claim(filled, "me", now)
    act(filled, "submitting", "me", now)
    act(filled, "settle", "m1", "me", settled("accepted", now, message_ids=("a", "b")))
    act(filled, "receive", receipt(1, "a", "delivered", now))
    act(filled, "receive", receipt(2, "b", "failed", now))
    assert act(filled, "get", "m1").state == "failed"


def test_what_was_given_up_is_listed_with_its_number(
    filled: Any, a_message: Message, now: datetime
) -> None:
    names = ["m1", "m2", "m3"]
    for place, name in enumerate(names):
        put(filled, replace(a_message, id=name, dedupe_key=name, place=place))
        claim(filled, name, now)
    for place, (name, state) in enumerate(
        zip(names, ["failed", "accepted", "uncertain"], strict=True)
    ):
        claim(filled, f"again-{name}", now + 60 * SECOND)
        word = settled(state, now + place * SECOND, reason=f"gave up: {name}")
        act(filled, "settle", name, f"again-{name}", word)
    listed = act(filled, "given_up")
    assert [(one.id, number) for one, number in listed] == [
        ("m3", "+254700000001"),
        ("m1", "+254700000001"),
    ]
    assert listed[0][0].reason == "gave up: m3"
    assert len(act(filled, "given_up", 1)) == 1
    assert act(filled, "counts") == {"failed": 1, "accepted": 1, "uncertain": 1}


def test_texts_and_numbers_stay_out_of_a_messages_repr(a_message: Message) -> None:
    assert "Valve" not in repr(a_message)


def sent(store: Any, now: datetime, state: str = "accepted", **more: Any) -> None:
    """Claim everything and settle it."""
    for one in act(store, "claim", "me", now, now + 60 * SECOND, 50):
        act(store, "submitting", "me", now + 60 * SECOND)
        act(store, "settle", one.message.id, "me", settled(state, now, **more))


def test_what_left_for_a_number_and_has_no_end_is_awaited(
    filled: Any, a_message: Message, now: datetime
) -> None:
    second = replace(a_message, id="m2", dedupe_key="2", created_at=now + SECOND)
    put(filled, a_message, second, replace(a_message, id="m3", dedupe_key="3", phone_id="p2"))
    assert act(filled, "awaited", "+254700000001") == ()
    for _ in range(2):
        sent(filled, now)
    found = act(filled, "awaited", "+254700000001")
    assert [(one.id, one.state) for one in found] == [("m2", "accepted"), ("m1", "accepted")]
    act(filled, "receive", Receipt("r1", "m2", "delivered", now, now))
    assert [one.id for one in act(filled, "awaited", "+254700000001")] == ["m1"]
    assert act(filled, "awaited", "+254700000009") == ()


def test_a_message_of_two_parts_is_accepted_and_delivered_when_both_are(
    filled: Any, a_message: Message, now: datetime
) -> None:
    put(filled, replace(a_message, parts=2))
    sent(filled, now, "uncertain", is_open=True, message_ids=("c1",))
    act(filled, "receive", Receipt("r1", "c1", "delivered", now, now))
    assert act(filled, "get", "m1").state == "uncertain"
    act(filled, "receive", Receipt("r2", "c2", "delivered", now, now))
    act(filled, "accepted", "m1", ("c1",), now)
    assert act(filled, "get", "m1").state == "uncertain"
    act(filled, "accepted", "m1", ("c2",), now)
    assert act(filled, "get", "m1").state == "delivered"


def test_nobody_at_a_number_is_counted_once_a_day_until_somebody_is(
    filled: Any, a_message: Message, now: datetime
) -> None:
    def failed_days() -> int:
        with filled.unit_of_work() as work:
            return int(work.phones.find("+254700000001").failed_days)

    hour = timedelta(hours=1)
    for number, later in enumerate((0 * hour, hour, 24 * hour)):
        put(filled, replace(a_message, id=f"m{number}", dedupe_key=f"{number}"))
        sent(filled, now + later, "failed", nobody=True)
    assert failed_days() == 2
    put(filled, replace(a_message, id="m7", dedupe_key="7"))
    sent(filled, now + 48 * hour, "failed")
    assert failed_days() == 2, "refused for another reason"
    put(filled, replace(a_message, id="m8", dedupe_key="8"))
    sent(filled, now + 48 * hour)
    act(filled, "receive", Receipt("r1", "m8", "failed", now + 49 * hour, now))
    act(filled, "receive", Receipt("r1", "m8", "failed", now + 99 * hour, now))
    assert failed_days() == 3
    put(filled, replace(a_message, id="m9", dedupe_key="9"))
    (claimed,) = act(filled, "claim", "me", now, now, 1)
    assert claimed.failed_days == 3
    act(filled, "receive", Receipt("r2", "m9", "delivered", now + 50 * hour, now))
    assert failed_days() == 0
    act(filled, "receive", Receipt("r3", "m9", "failed", now + 50 * hour, now))
    assert failed_days() == 0, "a late word changes nothing that was delivered"
    with filled.unit_of_work() as work:
        phone = work.phones.find("+254700000001")
        assert (phone.failed_days, phone.failed_on) == (0, None)
