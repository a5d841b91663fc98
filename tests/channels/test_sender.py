"""Sending from the outbox: order, rules of the kinds, doubt, retries, death half-way."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from service.channels import (
    Accepted,
    Bucket,
    Hours,
    Judge,
    Letter,
    NotNow,
    Post,
    Receipts,
    Refused,
    Sender,
    Unknown,
)
from service.channels.kinds import RULES
from service.channels.sender import LEASE
from service.channels.verdict import RETRY_S, SETTLE_FOR
from service.gateways import RecordedGateway
from service.records import Consent, Phone

DAY = datetime(2026, 7, 1, 9, 0, tzinfo=UTC)
"""A Wednesday."""


class Office:
    """An outbox with its sender, and a clock that tests turn."""

    def __init__(self, unit_of_work: Any, repeatable: bool = True) -> None:
        self.unit_of_work, self.now = unit_of_work, DAY
        self.gateway = RecordedGateway(repeatable)
        self.ids = (f"n{number:03d}" for number in itertools.count(1))
        self.post = Post(lambda: next(self.ids))
        self.phones: dict[str, str] = {}
        self.sender = self.make_sender()
        self.receipts = Receipts(unit_of_work, lambda: next(self.ids))

    def make_sender(self, **more: Any) -> Sender:
        given: dict[str, Any] = {
            "unit_of_work": self.unit_of_work,
            "gateway": self.gateway,
            "judge": Judge(Hours(UTC), lambda: 0.5, self.gateway.repeatable),
            "bucket": Bucket(1000, 0.0),
            "new_id": lambda: next(self.ids),
            "clock": lambda: self.now,
            "seconds": lambda: (self.now - DAY).total_seconds(),
        }
        return Sender(**{**given, **more})

    def put(self, words: str, kind: Any = "answer", phone: str = "a", **more: Any) -> str:
        """Put a letter to a phone into the outbox and return its text as its name."""
        with self.unit_of_work() as work:
            if phone not in self.phones:
                self.phones[phone] = f"p-{phone}"
                number = f"+1000555{len(self.phones):04d}"
                work.phones.add(Phone(f"p-{phone}", number, None, DAY))
            key = more.pop("key", f"{kind}:{words}")
            self.post.put(work, Letter(f"p-{phone}", kind, key, words, "en", **more), self.now)
            work.commit()
        return words

    def consent(self, given: bool, phone: str = "a") -> None:
        with self.unit_of_work() as work:
            words = "start" if given else "stop"
            work.consents.add(Consent(next(self.ids), f"p-{phone}", self.now, given, words, "sms"))
            work.commit()

    def wait(self, **time: float) -> None:
        self.now += timedelta(**time)

    def send(self) -> list[str]:
        """Send what is due and return the texts that were submitted."""
        before = len(self.gateway.submitted)
        while self.sender.once().handled:
            pass
        return [one.text for one in self.gateway.submitted[before:]]

    def message(self, words: str) -> Any:
        with self.unit_of_work() as work:
            (found,) = [one for one in self._all(work) if one.text == words]
        return found

    def _all(self, work: Any) -> Any:
        return [one for n in range(1, 400) if (one := work.outbox.get(f"n{n:03d}"))]

    @property
    def delivered(self) -> list[str]:
        return [one.text for one in self.gateway.delivered]


@pytest.fixture
def office(unit_of_work: Callable[[], Any]) -> Office:
    return Office(unit_of_work)


@pytest.fixture
def unsure_office(unit_of_work: Callable[[], Any]) -> Office:
    """Its gateway cannot tell a repetition, as an operator's SMPP centre cannot."""
    return Office(unit_of_work, repeatable=False)


def test_a_message_leaves_once_with_its_number_and_time_left(office: Office) -> None:
    office.put("hello", sender="777")
    assert office.send() == ["hello"]
    assert office.send() == []
    (sent,) = office.gateway.submitted
    assert (sent.to, sent.sender, sent.valid_for) == ("+10005550001", "777", timedelta(hours=12))
    found = office.message("hello")
    assert (found.state, found.open, found.attempts, found.id) == ("accepted", False, 1, sent.id)


def test_planning_the_same_twice_is_one_message(office: Office) -> None:
    office.put("flush today", key="reminder:plot17:flush:2026-W32")
    office.put("flush now", key="reminder:plot17:flush:2026-W32")
    assert office.send() == ["flush today"]


def test_answers_overtake_bulk_and_the_order_of_a_phone_is_kept(office: Office) -> None:
    for phone in "abc":
        office.put(f"season {phone}", "seasonal", phone)
        office.consent(True, phone)
        office.put(f"remind {phone}", "reminder", phone)
    office.wait(seconds=1)
    office.put("answer 1", "answer", "a")
    office.put("confirm", "confirmation", "b")
    office.wait(seconds=1)
    office.put("answer 2", "answer", "a")
    office.sender = office.make_sender(window=1)
    sent = office.send()
    assert sent[:3] == ["answer 1", "answer 2", "confirm"]
    assert sent[3:] == [f"{word} {phone}" for word in ("remind", "season") for phone in "abc"]


def test_a_refusal_for_good_ends_it_with_a_last_word(office: Office) -> None:
    office.put("hello")
    office.gateway.will_answer([Refused("400: the gateway refused this message")])
    office.send()
    found = office.message("hello")
    assert (found.state, found.reason) == ("failed", "400: the gateway refused this message")
    with office.unit_of_work() as work:
        assert [one.text for one, _ in work.outbox.given_up()] == ["hello"]


def test_retries_wait_longer_each_time_until_it_is_too_late(office: Office) -> None:
    office.put("hello")
    office.gateway.will_answer([NotNow("503")] * 50)
    moments = []
    while office.message("hello").open:
        office.now = office.message("hello").next_try
        if office.send():
            moments.append(office.now)
    gaps = [round((b - a).total_seconds()) for a, b in itertools.pairwise(moments)]
    assert gaps[:6] == [round(wait) for wait in RETRY_S]
    assert set(gaps[6:]) == {RETRY_S[-1]}
    found = office.message("hello")
    assert (found.state, found.reason) == ("failed", "gave up: 503")
    assert found.settled_at < DAY + RULES["answer"].lifetime


def test_the_network_may_say_how_long_to_wait(office: Office) -> None:
    office.put("hello")
    office.gateway.will_answer([NotNow("503", after=40.0)])
    office.send()
    office.wait(seconds=39)
    assert office.send() == []
    office.wait(seconds=1)
    assert office.send() == ["hello"]


def test_chance_spreads_the_retries(unit_of_work: Any) -> None:
    message = None
    office = Office(unit_of_work)
    office.put("hello")
    message = office.message("hello")
    waits = []
    for chance in (0.0, 0.5, 0.999999):
        judge = Judge(Hours(UTC), lambda chance=chance: chance, True)
        waits.append((judge.after(message, NotNow("503"), DAY).next_try - DAY).total_seconds())
    assert waits == pytest.approx([4.0, 5.0, 6.0], abs=0.01)


def test_too_fast_holds_everything_up_and_costs_no_attempt(office: Office) -> None:
    for phone in "abc":
        office.put(f"to {phone}", phone=phone)
    office.gateway.will_answer([NotNow("429", after=3.0, slower=True)])
    office.sender = office.make_sender(window=1)
    assert office.sender.once().handled == 1
    done = office.sender.once()
    assert (done.handled, done.wait_s) == (0, pytest.approx(3.0))
    assert office.message("to a").attempts == 0
    office.wait(seconds=3)
    assert sorted(office.send()) == ["to a", "to b", "to c"]


def test_a_gateway_that_does_not_know_us_is_told_and_loses_nothing(office: Office) -> None:
    office.put("hello")
    office.gateway.will_answer([Refused("401: the signature was refused", alert=True)])
    assert office.sender.once().alert == "401: the signature was refused"
    assert office.message("hello").state == "queued"
    office.wait(seconds=60)
    assert office.send() == ["hello"]


def test_without_an_answer_a_repeatable_gateway_gets_the_same_key_again(office: Office) -> None:
    office.put("hello")
    office.gateway.will_answer([Unknown("no answer")])
    office.send()
    found = office.message("hello")
    assert (found.state, found.uncertain_since, found.open) == ("uncertain", DAY, True)
    office.wait(seconds=5)
    assert office.send() == ["hello"]
    first, second = office.gateway.submitted
    assert first.id == second.id
    found = office.message("hello")
    assert (found.state, found.attempts, found.resends, found.uncertain_since) == (
        "accepted", 2, 1, None
    )  # fmt: skip


def test_otherwise_a_receipt_gets_time_to_settle_it(unsure_office: Office) -> None:
    office = unsure_office
    office.put("hello")
    office.gateway.will_answer([Unknown("no answer")])
    office.send()
    office.wait(seconds=10)
    assert office.send() == []
    office.receipts.take(office.message("hello").id, "delivered", office.now, office.now)
    office.wait(hours=1)
    assert office.send() == []
    assert office.message("hello").state == "delivered"


@pytest.mark.parametrize("kind", ["answer", "reminder"])
def test_otherwise_what_harms_nobody_is_sent_once_more(unsure_office: Office, kind: Any) -> None:
    office = unsure_office
    office.put("hello", kind)
    office.consent(True)
    office.gateway.will_answer([Unknown("no answer")] * 5)
    sent = list(office.send())
    for _ in range(10):
        office.wait(seconds=SETTLE_FOR.total_seconds())
        sent += office.send()
    assert sent == ["hello", "hello"]
    found = office.message("hello")
    assert (found.state, found.open, found.resends) == ("uncertain", False, 1)
    assert found.reason.startswith("gave up: ")


def test_otherwise_an_alert_is_held_for_a_person(unsure_office: Office) -> None:
    office = unsure_office
    office.put("pH 2-3 for an hour", "alert")
    office.gateway.will_answer([Unknown("no answer")])
    assert len(office.send()) == 1
    office.wait(seconds=SETTLE_FOR.total_seconds())
    assert office.send() == []
    with office.unit_of_work() as work:
        ((held, number),) = work.outbox.given_up()
    assert (held.state, held.open, number) == ("uncertain", False, "+10005550001")


def test_what_was_never_sent_is_no_doubt(unsure_office: Office) -> None:
    unsure_office.put("hello")
    unsure_office.gateway.will_answer([NotNow("no connection")])
    unsure_office.send()
    assert unsure_office.message("hello").state == "queued"


def test_dying_before_the_bytes_leave_costs_nothing(office: Office) -> None:
    office.put("hello")
    with office.unit_of_work() as work:
        work.outbox.claim("the dead", office.now, office.now + LEASE, 10)
        work.commit()
    assert office.send() == []
    office.wait(seconds=LEASE.total_seconds())
    assert office.send() == ["hello"]
    assert office.message("hello").resends == 0


@pytest.mark.parametrize("repeatable", [True, False])
def test_dying_while_submitting_makes_it_uncertain(unit_of_work: Any, repeatable: bool) -> None:
    office = Office(unit_of_work, repeatable)
    office.put("hello")
    with office.unit_of_work() as work:
        work.outbox.claim("the dead", office.now, office.now + LEASE, 10)
        work.outbox.submitting("the dead", office.now + LEASE)
        work.commit()
    office.wait(seconds=LEASE.total_seconds())
    assert office.send() == (["hello"] if repeatable else [])
    if not repeatable:
        assert office.message("hello").state == "uncertain"
        office.wait(seconds=SETTLE_FOR.total_seconds())
        assert office.send() == ["hello"]
    assert office.message("hello").resends == 1


def test_reminders_need_a_yes_at_the_moment_of_sending(office: Office) -> None:
    office.put("flush", "reminder")
    office.put("clean", "reminder", "b")
    office.consent(True, "b")
    office.put("rinse", "reminder", "c")
    office.consent(True, "c")
    office.consent(False, "c")
    assert office.send() == ["clean"]
    assert office.message("flush").reason == "no consent to reminders"
    assert office.message("rinse").state == "failed"


@pytest.mark.parametrize("kind", ["answer", "confirmation", "alert"])
def test_what_was_asked_for_leaves_after_stop_and_at_night(office: Office, kind: Any) -> None:
    office.put("first", kind)
    office.consent(False)
    office.wait(hours=14)
    assert office.send() == (["first"] if kind != "answer" else [])


def test_reminders_wait_for_a_decent_hour(office: Office) -> None:
    office.wait(hours=13)
    office.put("flush", "reminder")
    office.consent(True)
    assert office.send() == []
    assert office.message("flush").attempts == 0
    office.wait(hours=9, minutes=59)
    assert office.send() == []
    office.wait(minutes=1)
    assert office.send() == ["flush"]


def test_an_answer_overtakes_a_reminder_that_waits_for_morning(office: Office) -> None:
    office.wait(hours=13)
    office.put("flush", "reminder")
    office.consent(True)
    office.send()
    office.wait(seconds=10)
    office.put("20 minutes", "answer")
    assert office.send() == ["20 minutes"]


def test_what_is_too_late_to_be_of_use_is_not_sent(office: Office) -> None:
    office.put("now or never", not_after=DAY + timedelta(minutes=5))
    office.wait(minutes=5)
    assert office.send() == []
    found = office.message("now or never")
    assert (found.state, found.open, found.reason) == ("expired", False, "too late to be of use")


def test_not_before_its_time(office: Office) -> None:
    office.put("did it work?", not_before=DAY + timedelta(days=5))
    office.put("20 minutes")
    assert office.send() == ["20 minutes"]
    office.wait(days=5)
    assert office.send() == ["did it work?"]


def test_the_pace_is_kept(office: Office) -> None:
    office.sender = office.make_sender(bucket=Bucket(2, 0.0))
    for number in range(10):
        office.put(f"to {number}", phone=str(number))
    sent = []
    for _ in range(5):
        sent.append(len(office.send()))
        office.wait(seconds=1)
    assert sent == [2, 2, 2, 2, 2]


def test_several_lanes_send_all_once(office: Office) -> None:
    office.sender = office.make_sender(lanes=4, window=8)
    for number in range(30):
        office.put(f"to {number}", phone=str(number))
    sent = office.send()
    office.sender.close()
    assert sorted(sent) == sorted(f"to {number}" for number in range(30))
    assert sorted(office.delivered) == sorted(sent)


def test_what_a_slow_gateway_left_over_goes_back_into_the_queue(office: Office) -> None:
    """Long before another sender could think this one dead."""
    for number in range(4):
        office.put(f"to {number}", phone=str(number))

    def slowly(message: Any, now: Any) -> Any:
        office.wait(seconds=LEASE.total_seconds() / 4)
        return Accepted()

    office.gateway.submit = slowly  # type: ignore[method-assign]
    office.sender.once()
    states = [office.message(f"to {number}").state for number in range(4)]
    assert states == ["accepted", "accepted", "queued", "queued"]
    assert office.message("to 3").attempts == 0


def test_a_receipt_may_come_while_submitting(office: Office) -> None:
    office.put("hello")
    message_id = office.message("hello").id

    def and_tell(message: Any, now: Any) -> Any:
        office.receipts.take(message.id, "delivered", now, now)
        return Accepted()

    office.gateway.submit = and_tell  # type: ignore[method-assign]
    office.sender.once()
    assert message_id == office.message("hello").id
    assert office.message("hello").state == "delivered"


def test_the_gateways_own_ids_are_kept(office: Office) -> None:
    office.put("hello")
    office.gateway.will_answer([Accepted(("gw-1", "gw-2"))])
    office.send()
    assert office.receipts.take("gw-1", "delivered", DAY, DAY) is True
    assert office.message("hello").state == "accepted"
    assert office.receipts.take("gw-2", "delivered", DAY, DAY) is True
    assert office.message("hello").state == "delivered"
    assert office.receipts.take("gw-9", "delivered", DAY, DAY) is False


def test_for_every_key_submissions_are_at_most_one_and_the_resends(office: Office) -> None:
    """The invariant, with faults of every kind thrown at many messages."""
    faults = [Unknown("?"), NotNow("503"), Accepted(), Unknown("?"), Accepted(), NotNow("x", 1.0)]
    office.gateway.will_answer(itertools.islice(itertools.cycle(faults), 90))
    for number in range(60):
        office.put(f"to {number}", phone=str(number % 20))
    for _ in range(40):
        office.send()
        office.wait(minutes=10)
    submitted: dict[str, int] = {}
    for one in office.gateway.submitted:
        submitted[one.id] = submitted.get(one.id, 0) + 1
    assert len(office.delivered) == len(set(office.delivered)) == 60
    for number in range(60):
        found = office.message(f"to {number}")
        assert found.state == "accepted"
        assert submitted[found.id] == found.attempts
        assert found.attempts >= 1 + found.resends


def test_people_come_before_bulk() -> None:
    kinds: tuple[Any, ...] = ("answer", "confirmation", "reminder", "seasonal")
    assert [RULES[kind].priority for kind in kinds] == [0, 1, 2, 3]


def failing_on(office: Office, days: int) -> None:
    """A text a day of which the network says that nobody has this number."""
    for day in range(days):
        office.gateway.will_answer([Refused("no such number", nobody=True)])
        words = office.put(f"text of {office.now:%d}, {day}")
        assert office.send() == [words]
        office.wait(days=1)


def test_a_number_where_nobody_is_on_three_days_is_left_alone(office: Office) -> None:
    failing_on(office, 2)
    office.put("a third one arrives")
    assert office.send() == ["a third one arrives"]
    office.receipts.take(office.message("a third one arrives").id, "delivered", DAY, office.now)
    failing_on(office, 3)
    office.put("nobody to read it")
    office.put("somebody else", phone="b")
    assert office.send() == ["somebody else"]
    found = office.message("nobody to read it")
    assert (found.state, found.open) == ("failed", False)
    assert found.reason.startswith("the number is paused: on three days")


def test_a_paused_number_that_is_heard_of_gets_its_answers(
    office: Office, make_texts: Any, make_texter: Any
) -> None:
    failing_on(office, 3)
    texter = make_texter(make_texts(), office.unit_of_work, "+10005550001")
    texter.now, texter.waiting = office.now, list
    texter.say("hello")
    office.now = texter.now
    assert len(office.send()) == 1


def test_a_call_wakes_a_paused_number_too(
    office: Office, make_turns: Any, make_caller: Any
) -> None:
    failing_on(office, 3)
    caller = make_caller(make_turns(), "+10005550001")
    caller.dial()
    office.put("an answer")
    assert office.send() == ["an answer"]
