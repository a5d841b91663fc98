"""People, tickets, rain, accounts, the log and choices: the same promises in every store."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.records import (
    Account,
    Audit,
    ConcurrentChange,
    Person,
    RainReport,
    ReminderChoice,
    Ticket,
    TicketNote,
)


@pytest.fixture
def work(store, a_phone):
    with store.unit_of_work() as work:
        work.phones.add(a_phone)
        yield work


@pytest.fixture
def ticket(now):
    def ticket(number, **changes):
        made = Ticket(f"t{number}", "p1", "call_back", f"key{number}", now, f"matter {number}")
        return replace(made, **changes)

    return ticket


def account(now, name="Asha"):
    return Account(f"a-{name}", name, ("operator", "officer"), "hash", now, districts=("velmora",))


# --- people --------------------------------------------------------------------------------------


def test_a_person_is_found_by_letters_of_the_name(work, a_phone, now):
    person = Person("n1", "p1", "Amina wa Juu 100%", now, ("valley", "upper"), "rings at noon")
    work.people.add(person)
    assert work.people.get("n1") == person
    assert work.people.find("amina", 5) == work.people.find("WA JUU", 5) == ((a_phone, person),)
    assert work.people.find("100%", 5)
    assert work.people.find("100_", 5) == ()
    assert work.people.of_phone("p1") == (person,)


def test_a_person_changed_by_two_is_changed_once(work, now):
    person = Person("n1", "p1", "Amina", now)
    work.people.add(person)
    work.people.save(replace(person, groups=("valley",)))
    with pytest.raises(ConcurrentChange):
        work.people.save(replace(person, name="Amna"))
    assert work.people.get("n1") == replace(person, groups=("valley",), revision=1)


def test_phones_are_found_by_their_last_digits(work, a_phone):
    assert work.phones.ending("000001", 5) == (a_phone,)
    assert work.phones.ending("0001%", 5) == (a_phone,)
    assert work.phones.ending("999", 5) == ()
    assert work.phones.get("p1") == a_phone


# --- tickets -------------------------------------------------------------------------------------


def test_the_same_matter_is_one_ticket(work, ticket):
    assert work.tickets.add(ticket(1, so_far={"flow": "plan", "answers": {"x": [1]}}))
    assert not work.tickets.add(ticket(2, dedupe_key="key1"))
    assert work.tickets.get("t1").so_far == {"flow": "plan", "answers": {"x": [1]}}
    assert work.tickets.get("t2") is None


def test_dangers_come_first_and_then_the_oldest(work, ticket, now):
    later = now + timedelta(minutes=5)
    for one in (
        ticket(1, opened_at=later),
        ticket(2),
        ticket(3, opened_at=later, danger="splashed"),
        ticket(4, state="closed"),
    ):
        work.tickets.add(one)
    assert [one.id for one in work.tickets.waiting()] == ["t3", "t2", "t1"]
    assert [one.id for one in work.tickets.of_phone("p1")][:2] == ["t3", "t1"]
    assert {one.id for one in work.tickets.since(later)} == {"t1", "t3"}


def test_of_two_who_claim_one_wins(work, ticket, now):
    work.tickets.add(ticket(1))
    work.tickets.save(ticket(1, state="claimed", claimed_by="a1", claimed_at=now))
    with pytest.raises(ConcurrentChange):
        work.tickets.save(ticket(1, state="claimed", claimed_by="a2"))
    assert work.tickets.get("t1").claimed_by == "a1"


def test_who_is_to_be_asked_whether_it_worked(work, ticket):
    day = date(2026, 7, 3)
    for number, (state, ask_on, worked) in enumerate(
        [
            ("closed", day, None),
            ("closed", day + timedelta(1), None),
            ("closed", day, True),
            ("open", day, None),
            ("closed", None, None),
            ("closed", day - timedelta(40), None),
        ]
    ):
        work.tickets.add(ticket(number, state=state, ask_on=ask_on, worked=worked))
    assert [one.id for one in work.tickets.to_ask(day)] == ["t0", "t5"]
    assert [one.id for one in work.tickets.to_ask(day, since=day - timedelta(9))] == ["t0"]


def test_notes_stay_in_their_order(work, ticket, now):
    work.tickets.add(ticket(1))
    notes = [TicketNote(f"n{n}", "t1", "a1", now + timedelta(n), f"rang {n}") for n in (0, 1)]
    for note in reversed(notes):
        work.tickets.add_note(note)
    assert work.tickets.notes("t1") == tuple(notes)


# --- rain, accounts, choices ---------------------------------------------------------------------


def test_a_later_report_of_the_same_day_takes_its_place(work, now):
    day = date(2026, 7, 1)
    for district, on, mm in (("velmora", day, 3.0), ("velmora", day, 12.5), ("aruneth", day, 1.0)):
        work.rain.put(RainReport(district, on, mm, now, "a1"))
    assert [one.mm for one in work.rain.of_district("velmora", day)] == [12.5]
    assert [one.district for one in work.rain.since(day)] == ["aruneth", "velmora"]
    assert work.rain.since(day + timedelta(1)) == ()


def test_names_of_accounts_differ_by_more_than_case(work, now):
    made = account(now)
    work.accounts.add(made)
    assert work.accounts.named(" ASHA ") == made == work.accounts.get(made.id)
    with pytest.raises(ConcurrentChange):
        work.accounts.add(replace(account(now, "asha"), id="other"))


def test_names_in_other_scripts_too(work, now):
    work.accounts.add(account(now, "Ársha"))
    assert work.accounts.named("ársha") is not None


def test_an_account_changed_by_two_is_changed_once(work, now):
    made = account(now)
    work.accounts.add(made)
    work.accounts.save(replace(made, failures=1, locked_until=now))
    with pytest.raises(ConcurrentChange):
        work.accounts.save(replace(made, failures=1))
    assert work.accounts.get(made.id).locked_until == now


def test_the_log_is_read_newest_first_and_by_what_is_asked(work, now):
    for number, action in enumerate(["caller.seen", "ticket.claimed", "caller.seen"]):
        at = now + timedelta(minutes=number)
        work.accounts.log(Audit(f"l{number}", at, "a1", action, "caller", f"p{number}", {"n": 1}))
    assert [one.id for one in work.accounts.lines()] == ["l2", "l1", "l0"]
    assert [one.id for one in work.accounts.lines(actions=["caller.seen"])] == ["l2", "l0"]
    assert [one.id for one in work.accounts.lines(subject_id="p1")] == ["l1"]
    since = now + timedelta(seconds=30)
    assert len(work.accounts.lines(account_id="a1", since=since, limit=1)) == 1
    assert work.accounts.lines(account_id="a2") == ()


def test_a_choice_takes_the_place_of_the_one_before(work, now):
    for hour in (6, 19):
        work.choices.put(ReminderChoice("p1", hour, 2, now))
    assert work.choices.get("p1") == ReminderChoice("p1", 19, 2, now)
    assert work.choices.get("p2") is None
