"""Plots as lists and reminders need them; seasonal messages; all that is kept of a phone."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import timedelta

import pytest
from sqlalchemy import event

from service.records import (
    Audience,
    Consent,
    Inbound,
    Message,
    Person,
    Phone,
    Plot,
    Receipt,
    Recipient,
    ReminderChoice,
    Review,
    SeasonalMessage,
    Session,
    Settlement,
    Ticket,
    TicketNote,
)
from service.storage import Database
from service.storage.memory import MemoryUnitOfWork
from service.storage.memory_state import State
from service.storage.tables import metadata

CROPS = ("tomato", "onion", "kale")


@pytest.fixture
def work(store):
    with store.unit_of_work() as work:
        yield work


@pytest.fixture
def farmers(work, now):
    """Six plots in two districts, of three crops, in two languages, the even ones in a group."""
    for n in range(6):
        phone = Phone(f"p{n}", f"+25470000000{n}", "sw" if n < 3 else "hi", now)
        work.phones.add(phone)
        work.people.add(
            Person(f"n{n}", phone.id, f"Name {n}", now, ("even",) if n % 2 == 0 else ())
        )
        told = {"district": "velmora" if n < 4 else "aruneth", "crop": CROPS[n % 3]}
        work.plots.add(Plot(f"q{n}", phone.id, now, now, answers=told, person_id=f"n{n}"))
    return work.farmers


@pytest.mark.parametrize(
    ("audience", "plots"),
    [
        (Audience(), "q0 q1 q2 q3 q4 q5"),
        (Audience(districts=("aruneth",)), "q4 q5"),
        (Audience(crops=("tomato", "kale")), "q0 q2 q3 q5"),
        (Audience(languages=("hi",), districts=("velmora",)), "q3"),
        (Audience(districts=("velmora", "aruneth")), "q0 q1 q2 q3 q4 q5"),
        (Audience(districts=("velmora", "aruneth", "velmora"), crops=("kale",)), "q2 q5"),
        (Audience(districts=("aruneth", "velmora"), languages=("hi",)), "q3 q4 q5"),
        (Audience(districts=("aruneth", "velmora"), groups=("even",)), "q0 q2 q4"),
        (Audience(districts=("aruneth", *map(str, range(40))), groups=("even",)), "q4"),
        (Audience(groups=("even",)), "q0 q2 q4"),
        (Audience(groups=("odd",)), ""),
    ],
)
def test_an_audience_is_found_page_by_page(farmers, audience, plots):
    found, after = [], ""
    while page := farmers.page(audience, after, 2):
        found += [one.plot.id for one in page]
        after = found[-1]
    assert found == plots.split()
    assert farmers.count(audience) == len(found)


@pytest.mark.parametrize(
    "audience",
    [
        Audience(),
        Audience(districts=("velmora",)),
        Audience(districts=("velmora", "aruneth", "kotsindo"), crops=("tomato",)),
        Audience(districts=tuple(map(str, range(40)))),
        Audience(crops=("tomato", "kale"), groups=("even",)),
    ],
)
def test_no_page_sorts_the_plots_that_come_after_it(sqlite_url, audience):
    """Else each page of a message to a million plots would read and sort the rest of them.

    What is sorted at most is what a page is chosen from: some of each district.
    """
    database = Database(sqlite_url)
    database.migrate()
    asked = []
    event.listen(database.engine, "before_cursor_execute", lambda *given: asked.append(given[2:4]))
    with database.unit_of_work() as work:
        assert work.farmers.page(audience, "q3", 500) == ()
        (statement, values) = asked[-1]
        plan = work.connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values).all()
    database.close()
    assert len(asked) == 2  # the page is one statement; the other one asked for its plan
    steps = [row[3] for row in plan]
    outer = [row[3] for row in plan if row[1] == 0]
    assert any("plot_in_order" in one or "plot_of_district" in one for one in steps), steps
    assert not any("ORDER BY" in one for one in outer), steps


def test_a_farmer_comes_with_name_consent_and_hour(work, farmers, now):
    work.consents.add(Consent("c1", "p0", now, True, "yes", "ussd"))
    work.consents.add(Consent("c2", "p0", now + timedelta(1), False, "STOP", "sms"))
    work.choices.put(ReminderChoice("p0", 6, 1, now))
    first, second = farmers.page(Audience(), "", 2)
    assert (first.person.name, first.consent, first.choice.hour) == ("Name 0", False, 6)
    assert (second.consent, second.choice, second.phone.number) == (None, None, "+254700000001")


def test_a_plot_that_is_not_the_current_one_is_no_recipient(work, farmers, now):
    work.plots.add(Plot("q9", "p0", now + timedelta(1), now, answers={}, current=False))
    assert farmers.count(Audience()) == 6
    assert [one.plot.id for one in farmers.of_phone("p0")] == ["q0", "q9"]


def test_districts_are_counted(farmers):
    assert farmers.districts() == (("aruneth", 2), ("velmora", 4))


def test_groups_are_counted_by_the_plots_of_their_people(work, farmers, now):
    work.people.add(Person("n9", "p1", "Two", now, ("even", "far")))
    assert farmers.groups() == (("even", 3),)
    plot = work.plots.get("q1")
    work.plots.save(replace(plot, person_id="n9"))
    assert farmers.groups() == (("even", 4), ("far", 1))
    assert farmers.groups(("aruneth",)) == (("even", 1),)
    assert farmers.groups(("moon",)) == ()


def test_a_plot_that_moves_is_found_in_its_new_place(work, farmers):
    plot = work.plots.get("q0")
    work.plots.save(replace(plot, answers={**plot.answers, "district": "aruneth"}))
    assert farmers.count(Audience(districts=("aruneth",))) == 3


# --- seasonal messages ------------------------------------------------------------------


def a_message(now, number, phone_id="p0", batch="s1"):
    return Message(
        id=f"m{number}", phone_id=phone_id, channel="sms", kind="seasonal",
        dedupe_key=f"seasonal:{batch}:{number}", text="Water less.", language="en",
        encoding="gsm7", parts=1, priority=3, created_at=now, place=0, not_before=now,
        not_after=now + timedelta(days=4), next_try=now, batch=batch,
    )  # fmt: skip


@pytest.fixture
def seasonal(work, farmers, now):
    made = SeasonalMessage(
        "s1", "Before the rains", now, "a1", Audience(districts=("velmora",)), {"en": "Water less."}
    )
    work.seasonals.add(made)
    for n in range(3):
        work.outbox.add(a_message(now, n, f"p{n}"))
    sent = [Recipient("s1", f"q{n}", f"p{n}", f"m{n}") for n in range(3)]
    work.seasonals.add_recipients([*sent, Recipient("s1", "q3", "p3", None, "no consent")])
    return made


def test_a_seasonal_message_comes_back_as_it_was(work, seasonal):
    assert work.seasonals.get("s1") == seasonal
    work.seasonals.save(replace(seasonal, state="running", cursor="q2"))
    assert work.seasonals.all()[0].cursor == "q2"


def test_recipients_and_progress(work, seasonal):
    found = work.seasonals.recipients("s1", "q0", 2)
    assert [(one.plot_id, message.id) for one, message in found] == [("q1", "m1"), ("q2", "m2")]
    (last,) = work.seasonals.recipients("s1", "q2", 9)
    assert (last[0].left_out, last[1]) == ("no consent", None)
    assert work.seasonals.progress("s1") == {"queued": 3, "left_out": 1}
    assert work.seasonals.waiting("s1") == 3


def test_a_recipient_is_kept_once(work, seasonal):
    work.seasonals.add_recipients([Recipient("s1", "q0", "p0", None, "again")])
    assert work.seasonals.recipients("s1", "", 1)[0][0].message_id == "m0"


def test_a_paused_message_stays_and_goes_on_when_it_is_resumed(work, seasonal, now):
    later = now + timedelta(minutes=1)
    paused = replace(seasonal, state="paused")
    work.seasonals.save(paused)
    assert work.outbox.claim("me", later, later + timedelta(1), 9) == ()
    work.seasonals.save(replace(paused, state="running", revision=1))
    assert len(work.outbox.claim("me", later, later + timedelta(1), 9)) == 3


def test_what_is_paused_holds_nothing_else_up(work, seasonal, now):
    work.seasonals.save(replace(seasonal, state="paused"))
    later = now + timedelta(minutes=1)
    work.outbox.add(replace(a_message(later, 7, "p0"), batch="", kind="answer", priority=3))
    claimed = work.outbox.claim("me", later, later + timedelta(1), 9)
    assert [one.message.id for one in claimed] == ["m7"]


def test_what_still_waits_can_be_cancelled(work, seasonal, now):
    later = now + timedelta(minutes=1)
    (held,) = work.outbox.claim("me", later, later + timedelta(1), 1)
    assert work.seasonals.cancel_queued("s1", later, "cancelled") == 2
    assert work.seasonals.progress("s1") == {"leased": 1, "failed": 2, "left_out": 1}
    assert work.outbox.get(held.message.id).open


# --- everything about one phone ------------------------------------------------------------------


@pytest.fixture
def kept(work, seasonal, now):
    """One row of phone p0 in every table that can hold one."""
    later = now + timedelta(minutes=1)
    work.sessions.add(
        Session("s1", "p0", "ussd", "g1", "plan", "v", "crop", "en", now, plot_id="q0")
    )
    work.inbox.add(Inbound("i1", "http", "x1", "p0", "1", "h", "hello", now))
    work.consents.add(Consent("c1", "p0", now, True, "yes", "ussd"))
    work.consents.add_review(Review("r1", "p0", now, "stop it", "sms"))
    work.choices.put(ReminderChoice("p0", 6, 1, now))
    work.tickets.add(Ticket("t1", "p0", "call_back", "k1", now))
    work.tickets.add_note(TicketNote("o1", "t1", "a1", now, "rang"))
    work.outbox.claim("me", later, later + timedelta(1), 9)
    done = Settlement("accepted", False, later, 1, settled_at=later, message_ids=("gw1",))
    work.outbox.settle("m0", "me", done)
    work.outbox.receive(Receipt("e1", "gw1", "delivered", later, later))
    return work


def test_the_history_of_a_phone_is_whole(kept):
    history = kept.farmers.history("p0")
    assert all(
        len(part) == 1
        for part in (
            history.people, history.plots, history.sessions, history.inbound, history.outbox,
            history.consents, history.tickets, history.notes,
        )
    )  # fmt: skip
    assert history.choice.hour == 6
    assert kept.farmers.history("unknown") is None


def test_erased_is_erased_and_others_stay(kept, now):
    assert kept.farmers.erase("p0") >= 12
    assert kept.farmers.history("p0") is None
    assert kept.phones.find("+254700000000") is None
    assert kept.consents.reviews() == ()
    assert kept.farmers.count(Audience()) == 5
    assert len(kept.seasonals.recipients("s1", "", 9)) == 3
    kept.phones.add(Phone("new", "+254700000000", None, now))


MINE = {"p0", "q0", "n0", "t1", "m0", "gw1"}
"""What `kept` gave phone p0: its own id, plot, person, ticket, message, and the gateway's id."""


MEMORY_OF_A_PHONE = set(State.__slots__) - {"rain", "accounts", "audit", "seasonals"}


def of_a_phone() -> set[str]:
    """Names of the tables whose rows belong to a phone, by a column or by what they refer to."""
    found = {"phone", "receipt"}  # a receipt names a message by an id without a foreign key
    found |= {
        table.name
        for table in metadata.sorted_tables
        if {"phone_id", "plot_id", "person_id"} & set(table.columns.keys())
    }
    while True:
        more = {
            table.name
            for table in metadata.sorted_tables
            if any(key.column.table.name in found for key in table.foreign_keys)
        }
        if more <= found:
            return found
        found |= more


def naming(values) -> bool:
    return bool(MINE & {value for value in values if isinstance(value, str)})


def rows_naming(work) -> dict[str, int]:
    """How many rows of each table name something of p0."""
    if isinstance(work, MemoryUnitOfWork):
        state = work.read()
        return {
            name: sum(naming(_values(*item)) for item in getattr(state, name).items())
            for name in State.__slots__
        }
    return {
        table.name: sum(map(naming, work.connection.execute(table.select()).all()))
        for table in metadata.sorted_tables
    }


def _values(key, record):
    keys = key if isinstance(key, tuple) else (key,)
    if isinstance(record, tuple):
        return [*keys, *record]
    return [*keys, *(getattr(record, one.name) for one in fields(record))]


def test_erasing_forgets_no_table(kept, store):
    """Whatever table there is or comes: `kept` must fill it, and nothing of it may stay."""
    theirs = MEMORY_OF_A_PHONE if store.name == "memory" else of_a_phone()
    before = rows_naming(kept)
    assert {name for name in theirs if not before[name]} == set()
    kept.farmers.erase("p0")
    assert {name: count for name, count in rows_naming(kept).items() if count} == {}
