"""What becomes old: no receipt came, or nobody needs it any more."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from service.channels import Receipts, age

KEEP = timedelta(days=100)


def counts(unit_of_work: Any) -> dict[str, int]:
    with unit_of_work() as work:
        found: dict[str, int] = work.outbox.counts()
        return found


def test_no_receipt_a_day_after_its_use_makes_a_message_unknown_not_failed(
    texter: Any, unit_of_work: Any
) -> None:
    texter.say("hello")
    over = texter.now + timedelta(hours=12)
    assert age(unit_of_work, over + timedelta(hours=23), KEEP).unknown == 0
    late = over + timedelta(hours=25)
    assert age(unit_of_work, late, KEEP).unknown == 1
    assert age(unit_of_work, late, KEEP) == (0, 0, 0, 0)
    with unit_of_work() as work:
        ((message, number),) = work.outbox.given_up()
    assert (message.state, message.reason, message.open) == ("unknown", "no receipt came", False)
    assert number == texter.number
    receipts = Receipts(unit_of_work, lambda: "r1")
    receipts.take(message.id, "delivered", late, late)
    assert counts(unit_of_work) == {"delivered": 1}


def test_what_is_old_and_settled_goes_and_the_plot_stays(texter: Any, unit_of_work: Any) -> None:
    texter.say("20 onion")
    receipts = Receipts(unit_of_work, lambda: "r1")
    receipts.take("nobody's", "delivered", texter.now, texter.now)
    first = texter.now
    with unit_of_work() as work:
        plot = work.caller(texter.number, "sms", "").plot
    texter.now += KEEP
    texter.say("hello")
    before = counts(unit_of_work)
    assert age(unit_of_work, first + KEEP, KEEP)[1:] == (0, 0, 0)
    assert counts(unit_of_work) == {"accepted": 1, "unknown": 1}
    aged = age(unit_of_work, texter.now + KEEP - timedelta(minutes=1), KEEP)
    assert before == {"accepted": 2}
    assert aged.inbound == 1
    assert aged.outbox == 1, "the receipt of nobody's; the message was settled only now"
    assert age(unit_of_work, texter.now + KEEP, KEEP).outbox == 1
    assert counts(unit_of_work) == {"unknown": 1}
    with unit_of_work() as work:
        assert work.inbox.find("http", f"{texter.run}-1") is None
        assert work.caller(texter.number, "sms", "").plot == plot


def test_what_is_still_to_be_sent_is_never_deleted(texter: Any, unit_of_work: Any) -> None:
    texter.waiting = list
    texter.say("hello")
    assert age(unit_of_work, texter.now + 10 * KEEP, KEEP).outbox == 0
    assert counts(unit_of_work) == {"queued": 1}


def test_more_than_a_batch_goes_in_one_run(
    texter: Any, unit_of_work: Any, monkeypatch: Any
) -> None:
    monkeypatch.setattr("service.channels.ageing.BATCH", 2)
    for number in range(5):
        texter.say(f"hello {number}")
    aged = age(unit_of_work, texter.now + 2 * KEEP, KEEP)
    assert (aged.unknown, aged.inbound) == (5, 5)
    again = age(unit_of_work, texter.now + 4 * KEEP, KEEP)
    assert (again.outbox, again.sessions) == (5, 0)
    assert aged.sessions == 1
    assert counts(unit_of_work) == {}
