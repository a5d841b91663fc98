"""The queue of matters for a person."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, timedelta
from threading import Barrier
from typing import Any

import pytest

from service.channels.post import Letter, Post
from service.channels.tickets import (
    heard_whether_it_worked,
    missed_call,
    put_ticket,
    ticket_from,
    undelivered,
)
from service.desk.refusals import Clash, DeskRefused, NotYours
from service.desk.tickets import Tickets
from service.records import Review, Session


@pytest.fixture
def tickets(desk: Any) -> Tickets:
    return Tickets(desk.office)


@pytest.fixture
def phone(desk: Any) -> Any:
    return desk.phone()


def session_with(phone: Any, now: Any, **answers: Any) -> Session:
    return Session("s1", phone.id, "ussd", "g1", "helpline", "v", "noted", "en", now,
                   answers=answers)  # fmt: skip


def opened(desk: Any, before: dict[str, Any], after: dict[str, Any], phone: Any) -> Any:
    session = session_with(phone, desk.now, **after)
    return ticket_from(session, before, desk.now, desk.office.new_id)


@pytest.mark.parametrize(
    ("before", "after", "danger"),
    [
        ({}, {"ticket_wanted": "yes", "ticket_matter": "last line dry"}, ""),
        ({"ticket_matter": "other"}, {"ticket_matter": "splashed"}, "splashed"),
        ({}, {"ticket_matter": "acid in his eyes"}, "splashed"),
        (
            {"ticket_wanted": "yes", "ticket_matter": "a", "ticket_said": 1},
            {"ticket_wanted": "yes", "ticket_matter": "a", "ticket_said": 2},
            "",
        ),
    ],
)
def test_a_wish_or_a_danger_opens_a_ticket(desk, phone, before, after, danger):
    ticket = opened(desk, before, after, phone)
    assert ticket is not None
    assert ticket.danger == danger
    assert ticket.so_far["answers"] == after


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ({}, {"ticket_matter": "last line dry"}),
        ({}, {"ticket_wanted": "no", "ticket_matter": "last line dry"}),
        ({"ticket_matter": "gas"}, {"ticket_matter": "gas", "crop": "tomato"}),
        ({"ticket_wanted": "yes"}, {"ticket_wanted": "yes", "crop": "tomato"}),
        ({}, {"ticket_wanted": "worked"}),
    ],
)
def test_nothing_else_does(desk, phone, before, after):
    assert opened(desk, before, after, phone) is None


def put(desk: Any, ticket: Any) -> bool:
    with desk.unit_of_work() as work:
        new = put_ticket(work, ticket)
        work.commit()
    return new


def test_the_same_matter_twice_is_one_ticket_and_a_closed_one_opens_again(desk, tickets, phone):
    after = {"ticket_wanted": "yes", "ticket_matter": "last line dry"}
    assert put(desk, opened(desk, {}, after, phone))
    assert not put(desk, opened(desk, {}, after, phone))
    (line,) = tickets.queue(desk.operator, desk.now)
    tickets.claim(desk.operator, line.ticket.id, desk.now)
    tickets.close(desk.operator, line.ticket.id, "told to flush", desk.now)
    assert tickets.queue(desk.operator, desk.now) == ()
    assert put(desk, opened(desk, {}, after, phone))
    (line,) = tickets.queue(desk.operator, desk.now)
    assert line.ticket.state == "open"


def test_the_telephone_opens_a_ticket(desk, tickets, phone, make_telephone):
    caller = make_telephone(desk)
    caller.dial()
    for text in ("kot", "1", "Helpline", "6", "the last line is dry", "1"):
        caller.say(text)
    (line,) = tickets.queue(desk.operator, desk.now)
    assert line.ticket.matter == "the last line is dry"
    assert line.district == "kotsindo"


def test_dangers_come_first_then_the_oldest(desk, tickets):
    for place, matter in enumerate(("first", "second", "splashed")):
        phone = desk.phone(f"+100055501{place:02d}")
        after = {"ticket_wanted": "yes", "ticket_matter": matter}
        put(desk, opened(desk, {}, after, phone))
        desk.later(minutes=1)
    matters = [line.ticket.matter for line in tickets.queue(desk.operator, desk.now)]
    assert matters == ["splashed", "first", "second"]


@pytest.fixture
def ticket(desk: Any, tickets: Tickets, phone: Any) -> Any:
    return tickets.open(desk.operator, phone.id, "the last line is dry", desk.now)


def test_of_two_who_claim_one_wins(desk, tickets, ticket):
    other = desk.account("other", "operator")
    tickets.claim(desk.operator, ticket.id, desk.now)
    with pytest.raises(Clash, match="operator has taken"):
        tickets.claim(other, ticket.id, desk.now)
    assert tickets.claim(desk.operator, ticket.id, desk.now).claimed_by == desk.operator.id


def test_of_two_who_claim_at_once_one_wins_too(desk, tickets, ticket):
    """Both have read the open ticket before either has written."""
    other = desk.account("other", "operator")
    with desk.unit_of_work() as work:
        stale = work.tickets.get(ticket.id)
    tickets.claim(desk.operator, ticket.id, desk.now)
    with pytest.raises(Clash), desk.office.work() as work:
        work.tickets.save(replace(stale, state="claimed", claimed_by=other.id))
    with desk.unit_of_work() as work:
        kept = work.tickets.get(ticket.id)
    assert kept is not None
    assert kept.claimed_by == desk.operator.id


def test_a_ticket_is_noted_closed_with_an_outcome_and_asked_about_later(desk, tickets, ticket):
    with pytest.raises(DeskRefused, match="Take the ticket first"):
        tickets.close(desk.operator, ticket.id, "flushed", desk.now)
    tickets.claim(desk.operator, ticket.id, desk.now)
    tickets.note(desk.operator, ticket.id, "rang, no answer", desk.now)
    with pytest.raises(DeskRefused, match="a few words"):
        tickets.close(desk.operator, ticket.id, " ", desk.now)
    with pytest.raises(DeskRefused, match="1 to 60 days"):
        tickets.close(desk.operator, ticket.id, "flushed", desk.now, ask_after_days=61)
    tickets.close(desk.operator, ticket.id, "flushed", desk.now, ask_after_days=3)
    view = tickets.see(desk.operator, ticket.id, desk.now)
    assert view.line.ticket.ask_on == date(2026, 11, 28)
    assert view.number == "+10005550100"
    assert [(note.text, name) for note, name in view.notes] == [("rang, no answer", "operator")]
    with desk.unit_of_work() as work:
        assert [one.id for one in work.tickets.to_ask(date(2026, 11, 28))] == [ticket.id]
        assert work.tickets.to_ask(date(2026, 11, 27)) == ()
    tickets.reopen(desk.operator, ticket.id, desk.now)
    with desk.unit_of_work() as work:
        assert work.tickets.to_ask(date(2026, 12, 28)) == ()


@pytest.mark.parametrize(("said", "worked"), [("worked", True), ("yes", False)])
def test_whether_it_worked_is_kept_with_the_ticket(desk, tickets, phone, ticket, said, worked):
    tickets.claim(desk.operator, ticket.id, desk.now)
    tickets.close(desk.operator, ticket.id, "flushed", desk.now)
    with desk.unit_of_work() as work:
        after = session_with(phone, desk.now, ticket_wanted=said, ticket_said=2)
        assert heard_whether_it_worked(work, after, {"ticket_wanted": "yes", "ticket_said": 1})
        work.commit()
    assert tickets.see(desk.operator, ticket.id, desk.now).line.ticket.worked is worked


def test_given_back_it_is_anybodys(desk, tickets, ticket):
    other = desk.account("other", "operator")
    tickets.claim(desk.operator, ticket.id, desk.now)
    with pytest.raises(DeskRefused, match="Take the ticket first"):
        tickets.give_back(other, ticket.id, desk.now)
    tickets.give_back(desk.admin, ticket.id, desk.now)
    assert tickets.claim(other, ticket.id, desk.now).claimed_by == other.id


def test_calls_missed_within_an_hour_are_one_and_have_a_list_of_their_own(
    desk, tickets, phone, ticket
):
    assert tickets.note_missed_call(desk.operator, phone.id, desk.now)
    assert not tickets.note_missed_call(desk.operator, phone.id, desk.now + timedelta(minutes=9))
    assert tickets.note_missed_call(desk.operator, phone.id, desk.now + timedelta(hours=1))
    missed = tickets.missed_calls(desk.operator, desk.later(hours=2))
    assert [line.waits for line in missed] == [timedelta(hours=2), timedelta(hours=1)]


def test_a_lost_message_and_a_missed_call_have_keys_of_their_own(desk, phone):
    at = desk.now
    call = missed_call(phone.id, at, desk.office.new_id)
    assert call.dedupe_key == f"missed_call:{phone.id}:2026-11-25T09"
    desk.people.set_language(desk.operator, phone.id, "en", at)
    with desk.unit_of_work() as work:
        Post(desk.office.new_id).put(work, Letter(phone.id, "alert", "k", "text", "en"), at)
        (message,) = work.outbox.of_phone(phone.id)
    lost = undelivered(message, at, desk.office.new_id)
    assert lost.dedupe_key == f"undelivered:{message.id}"
    assert "text" not in repr(lost)


def test_a_text_that_nearly_says_stop_is_settled_either_way(desk, tickets, phone):
    with desk.unit_of_work() as work:
        for name in ("r1", "r2"):
            work.consents.add_review(Review(name, phone.id, desk.now, "leave me", "sms"))
        work.commit()
    assert [one.id for one, _ in tickets.reviews(desk.operator, desk.now)] == ["r1", "r2"]
    tickets.settle_review(desk.operator, "r1", desk.now, stop=False)
    with desk.unit_of_work() as work:
        assert work.consents.latest(phone.id) is None
    tickets.settle_review(desk.operator, "r2", desk.now, stop=True)
    with desk.unit_of_work() as work:
        latest = work.consents.latest(phone.id)
    assert latest is not None
    assert (latest.given, latest.words, latest.by) == (False, "leave me", "operator")
    assert tickets.reviews(desk.operator, desk.now) == ()
    with pytest.raises(DeskRefused, match="no longer there"):
        tickets.settle_review(desk.operator, "r2", desk.now, stop=True)


def test_an_officer_sees_tickets_of_the_own_districts_only(desk, tickets, ticket, bound_officer):
    assert tickets.queue(bound_officer, desk.now) == ()
    for act in (tickets.claim, tickets.see, tickets.reopen):
        with pytest.raises(NotYours):
            act(bound_officer, ticket.id, desk.now)
    with pytest.raises(NotYours):
        tickets.reviews(bound_officer, desk.now)


def test_every_step_is_in_the_log(desk, tickets, ticket):
    tickets.claim(desk.operator, ticket.id, desk.now)
    tickets.note(desk.operator, ticket.id, "rang", desk.now)
    tickets.close(desk.operator, ticket.id, "done", desk.now)
    assert desk.actions()[-4:] == [
        "ticket.opened",
        "ticket.claimed",
        "ticket.noted",
        "ticket.closed",
    ]


def test_of_two_threads_that_claim_at_the_same_moment_one_wins(make_desk, sqlite_unit_of_work):
    desk = make_desk(sqlite_unit_of_work)
    tickets = Tickets(desk.office)
    accounts = [desk.account(f"operator {place}", "operator") for place in range(4)]
    for number in range(6):
        phone = desk.phone(f"+1000555020{number}")
        ticket = tickets.open(desk.operator, phone.id, "the last line is dry", desk.now)
        start = Barrier(len(accounts))

        def claim(account: Any, ticket: Any = ticket, start: Barrier = start) -> bool:
            start.wait()
            try:
                tickets.claim(account, ticket.id, desk.now)
            except Clash:
                return False
            return True

        with ThreadPoolExecutor(len(accounts)) as pool:
            assert sorted(pool.map(claim, accounts)) == [False, False, False, True]
