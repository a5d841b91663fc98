"""The queue, one ticket from claim to close, missed calls, and texts that nearly say stop."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from service.records import Review, Ticket

HELPLINE = "/desk/helpline"


@pytest.fixture
def operator(desk: Any) -> Any:
    return desk.sitter("operator")


def waiting(desk: Any, phone: Any, key: str, **more: Any) -> Ticket:
    ago = more.pop("ago", timedelta(hours=1))
    kind = more.pop("kind", "call_back")
    return desk.keep("tickets", Ticket(desk.new_id(), phone.id, kind, key, desk.now - ago, **more))


def stored(desk: Any, ticket: Ticket) -> Ticket:
    with desk.unit_of_work() as work:
        return work.tickets.get(ticket.id)


def test_dangers_come_first_then_the_oldest(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    waiting(desk, phone, "a", matter="young matter")
    waiting(desk, phone, "b", matter="old matter", ago=timedelta(days=2))
    waiting(desk, phone, "c", matter="dangerous matter", danger="gas", ago=timedelta(minutes=1))
    page = operator.get(f"{HELPLINE}/tickets")
    order = [page.index(words) for words in ("dangerous matter", "old matter", "young matter")]
    assert order == sorted(order)
    assert "Bad gas, hard to breathe" in page
    assert "+10005550100" not in page


@pytest.mark.parametrize(
    ("danger", "words"),
    [
        ("splashed", "Rinse now with much clean water, 20 minutes or more"),
        ("swallowed", "Do not make them vomit."),
        ("gas", "Nobody goes back in."),
        ("stand_leans", "Open the valve only where the tank cannot fall on you."),
        ("injury", "After a fall, do not move them."),
    ],
)
def test_a_danger_stands_there_with_what_the_phone_says_at_once(
    desk: Any, operator: Any, danger: str, words: str
) -> None:
    phone, _ = desk.caller()
    ticket = waiting(desk, phone, "a", danger=danger)
    page = operator.get(f"{HELPLINE}/tickets/{ticket.id}")
    assert page.index("Ring now, before anything else.") < page.index("Read out or ask")
    assert page.index("Read out or ask") < page.index(words)
    # On a small screen a note with the focus would push the danger out of sight.
    operator.post(f"{HELPLINE}/tickets/next")
    assert words in operator.page
    assert "autofocus" not in operator.page
    done = waiting(desk, phone, "b", danger=danger, state="closed", outcome="a builder came")
    assert words not in operator.get(f"{HELPLINE}/tickets/{done.id}")


def test_another_matter_has_no_words_to_read_out(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    ticket = waiting(desk, phone, "a", matter="the last line is dry")
    assert "Read out or ask" not in operator.get(f"{HELPLINE}/tickets/{ticket.id}")
    operator.post(f"{HELPLINE}/tickets/next")
    assert "autofocus" in operator.page


def test_the_first_that_nobody_has_is_taken_by_one_key(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    first = waiting(desk, phone, "a", danger="gas")
    second = waiting(desk, phone, "b")
    operator.get(f"{HELPLINE}/tickets")
    operator.post(f"{HELPLINE}/tickets/next")
    assert "Danger: Bad gas, hard to breathe." in operator.page
    other = desk.sitter("officer")
    other.get(f"{HELPLINE}/tickets")
    other.post(f"{HELPLINE}/tickets/next")
    taken = [stored(desk, one).claimed_by for one in (first, second)]
    assert None not in taken
    assert len(set(taken)) == 2
    operator.get(f"{HELPLINE}/find")
    operator.post(f"{HELPLINE}/tickets/next")
    assert operator.notice == "Nothing waits that nobody has taken."


def test_a_ticket_is_taken_noted_closed_and_opened_again(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    ticket = waiting(desk, phone, "a", matter="the last line is dry")
    address = f"{HELPLINE}/tickets/{ticket.id}"
    assert "+10005550100" in operator.get(address)
    operator.post(f"{address}/claim")
    page = operator.post(f"{address}/note", text="two lines\nof a note")
    assert "two lines\nof a note" in page
    operator.post(f"{address}/close", outcome="Flushed; wet again.", days="3")
    closed = stored(desk, ticket)
    assert (closed.state, closed.outcome) == ("closed", "Flushed; wet again.")
    assert closed.ask_on == desk.now.date() + timedelta(days=3)
    assert "Flushed; wet again." in operator.get(address)
    operator.post(f"{address}/reopen")
    assert stored(desk, ticket).state == "open"


def test_closing_without_a_day_asks_nobody(desk: Any, operator: Any) -> None:
    ticket = waiting(desk, desk.caller()[0], "a")
    address = f"{HELPLINE}/tickets/{ticket.id}"
    operator.get(address)
    operator.post(f"{address}/claim")
    operator.post(f"{address}/close", outcome="Done.", days=" ")
    assert stored(desk, ticket).ask_on is None
    assert stored(desk, ticket).state == "closed"


@pytest.mark.parametrize(
    ("outcome", "days", "why"),
    [
        ("", "4", "Write a few words first."),
        ("Done.", "soon", "Ask after 1 to 60 days, or not at all."),
        ("Done.", "61", "Ask after 1 to 60 days, or not at all."),
    ],
)
def test_a_close_that_is_refused_loses_nothing(
    desk: Any, operator: Any, outcome: str, days: str, why: str
) -> None:
    ticket = waiting(desk, desk.caller()[0], "a")
    address = f"{HELPLINE}/tickets/{ticket.id}"
    operator.get(address)
    operator.post(f"{address}/claim")
    page = operator.post(f"{address}/close", outcome=outcome, days=days)
    assert operator.status == 422
    assert operator.alert == why
    assert f'value="{days}"' in page
    assert stored(desk, ticket).state == "claimed"


def test_two_who_take_one_ticket_clash_and_one_gives_it_back(desk: Any, operator: Any) -> None:
    ticket = waiting(desk, desk.caller()[0], "a")
    address = f"{HELPLINE}/tickets/{ticket.id}"
    other = desk.sitter("officer")
    other.get(address)
    operator.get(address)
    operator.post(f"{address}/claim")
    other.post(f"{address}/claim")
    assert other.status == 409
    assert other.alert == "operator has taken this ticket already."
    operator.post(f"{address}/give-back")
    assert stored(desk, ticket).state == "open"


def test_a_ticket_and_a_missed_call_by_hand(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    page = f"{HELPLINE}/callers/{phone.id}"
    operator.get(page)
    operator.post(f"{page}/missed-call")
    assert operator.notice == "The missed call is kept."
    operator.post(f"{page}/missed-call")
    assert operator.notice == "That missed call is known already."
    operator.post(f"{page}/tickets", matter="asked on the road")
    assert "asked on the road" in operator.page
    missed = operator.get(f"{HELPLINE}/missed-calls")
    assert "1 call was not heard." in missed
    assert "asked on the road" not in missed


def test_the_next_missed_call_leaves_other_tickets(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    other = waiting(desk, phone, "a", danger="gas")
    missed = waiting(desk, phone, "b", kind="missed_call")
    operator.get(f"{HELPLINE}/missed-calls")
    operator.post(f"{HELPLINE}/tickets/next", missed="yes")
    assert (stored(desk, other).state, stored(desk, missed).state) == ("open", "claimed")


@pytest.mark.parametrize(("meant", "stopped"), [("stop", True), ("other", False)])
def test_a_near_stop_is_decided_once(desk: Any, operator: Any, meant: str, stopped: bool) -> None:
    phone, _ = desk.caller()
    review = Review(desk.new_id(), phone.id, desk.now, "stp pls", "sms")
    with desk.unit_of_work() as work:
        work.consents.add_review(review)
        work.commit()
    page = operator.get(f"{HELPLINE}/near-stops")
    assert "stp pls" in page
    assert "+10005550100" not in page
    operator.post(f"{HELPLINE}/near-stops/{review.id}", meant=meant)
    assert "None waits." in operator.page
    with desk.unit_of_work() as work:
        line = work.consents.latest(phone.id)
    assert (line is not None and not line.given) == stopped
    operator.post(f"{HELPLINE}/near-stops/{review.id}", meant=meant)
    assert operator.status == 404


def test_a_near_stop_is_not_decided_by_an_empty_form(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    review = Review(desk.new_id(), phone.id, desk.now, "stp pls", "sms")
    with desk.unit_of_work() as work:
        work.consents.add_review(review)
        work.commit()
    operator.get(f"{HELPLINE}/near-stops")
    operator.post(f"{HELPLINE}/near-stops/{review.id}")
    assert operator.status == 422
    assert "stp pls" in operator.page
