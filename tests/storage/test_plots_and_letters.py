"""Plots, texts that came in and the ledger of consent, asked of every store."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from service.records import ConcurrentChange, Consent, Inbound, Plot, Review


@pytest.fixture
def a_plot(now: datetime) -> Plot:
    answers = {"tank": 500, "name": "टमाटर", "fall": None, "flat": True, "stand": 1.5}
    return Plot("l1", "p1", now, now, "home", answers, 0.87)


@pytest.fixture
def a_text(now: datetime) -> Inbound:
    return Inbound("i1", "http", "m-1", "p1", "12345", "f" * 64, "20 नमस्ते", now)


@pytest.fixture
def filled(store: Any, a_phone: Any) -> Any:
    with store.unit_of_work() as work:
        work.phones.add(a_phone)
        work.commit()
    return store


def write(store: Any, change: Any) -> Any:
    with store.unit_of_work() as work:
        result = change(work)
        work.commit()
        return result


def read(store: Any, question: Any) -> Any:
    with store.unit_of_work() as work:
        return question(work)


def test_a_plot_is_read_back_exactly_and_comes_with_the_caller(filled: Any, a_plot: Plot) -> None:
    write(filled, lambda work: work.plots.add(a_plot))
    assert read(filled, lambda work: work.plots.get("l1")) == a_plot
    assert read(filled, lambda work: work.caller("+254700000001", "ussd", "g")).plot == a_plot
    assert read(filled, lambda work: work.plots.get("l9")) is None


def test_a_plot_is_saved_once_for_each_revision(filled: Any, a_plot: Plot) -> None:
    write(filled, lambda work: work.plots.add(a_plot))
    changed = replace(a_plot, answers={"tank": 1000}, calibration=None)
    write(filled, lambda work: work.plots.save(changed))
    assert read(filled, lambda work: work.plots.get("l1")) == replace(changed, revision=1)
    with pytest.raises(ConcurrentChange):
        write(filled, lambda work: work.plots.save(changed))


def test_a_phone_has_several_plots_and_one_current(filled: Any, a_plot: Plot) -> None:
    second = replace(a_plot, id="l2", created_at=a_plot.created_at + timedelta(hours=1))
    write(filled, lambda work: work.plots.add(a_plot))
    with pytest.raises(ConcurrentChange):
        write(filled, lambda work: work.plots.add(second))
    write(filled, lambda work: work.plots.add(replace(second, current=False)))
    plots = read(filled, lambda work: work.plots.of_phone("p1"))
    assert [plot.id for plot in plots] == ["l1", "l2"]
    assert read(filled, lambda work: work.plots.of_phone("p2")) == ()


def test_a_number_is_found_from_its_id_and_back(filled: Any, a_phone: Any) -> None:
    assert read(filled, lambda work: work.phones.find(a_phone.number)) == a_phone
    assert read(filled, lambda work: work.phones.number("p1")) == a_phone.number
    assert read(filled, lambda work: work.phones.number("p9")) is None


def test_a_text_is_kept_once_under_its_key(filled: Any, a_text: Inbound) -> None:
    write(filled, lambda work: work.inbox.add(a_text))
    assert read(filled, lambda work: work.inbox.find("http", "m-1")) == a_text
    assert read(filled, lambda work: work.inbox.find("smpp", "m-1")) is None
    with pytest.raises(ConcurrentChange):
        write(filled, lambda work: work.inbox.add(replace(a_text, id="i2")))
    write(filled, lambda work: work.inbox.add(replace(a_text, id="i2", gateway="smpp")))


def test_parts_of_one_text_wait_for_each_other(filled: Any, a_text: Inbound, now: datetime) -> None:
    def part(number: int, **more: Any) -> Inbound:
        own = {"id": f"i{number}", "message_id": f"m{number}", "part": number}
        return replace(a_text, **{**own, "parts": 3, "reference": 7, **more})

    for one in (part(2), part(1), part(5, reference=8), part(6, parts=2), part(7, recipient="9")):
        write(filled, lambda work, one=one: work.inbox.add(one))
    waiting = read(filled, lambda work: work.inbox.waiting(part(1), now - timedelta(minutes=1)))
    assert [one.part for one in waiting] == [1, 2]
    assert read(filled, lambda work: work.inbox.waiting(part(1), now + timedelta(1))) == ()
    write(filled, lambda work: work.inbox.take(waiting, now))
    assert read(filled, lambda work: work.inbox.waiting(part(1), now)) == ()
    with pytest.raises(ConcurrentChange):
        write(filled, lambda work: work.inbox.take(waiting[:1], now))
    overdue = read(filled, lambda work: work.inbox.overdue(now + timedelta(minutes=10)))
    assert sorted(one.id for one in overdue) == ["i5", "i6", "i7"]
    assert read(filled, lambda work: work.inbox.overdue(now)) == ()


def test_the_last_line_of_the_ledger_counts(filled: Any, now: datetime) -> None:
    assert read(filled, lambda work: work.consents.latest("p1")) is None
    yes = Consent("c1", "p1", now, True, "start", "sms")
    no = Consent("c2", "p1", now + timedelta(seconds=1), False, "stop", "ussd")
    other = Consent(
        "c3", "p1", now + timedelta(seconds=2), True, "yes", "sms", "research", "officer"
    )
    for line in (no, yes, other):
        write(filled, lambda work, line=line: work.consents.add(line))
    assert read(filled, lambda work: work.consents.latest("p1")) == no
    assert read(filled, lambda work: work.consents.latest("p1", "research")) == other


def test_reviews_wait_the_oldest_first(filled: Any, now: datetime) -> None:
    later = Review("r1", "p1", now + timedelta(hours=1), "stop it?", "sms")
    sooner = Review("r2", "p1", now, "S T O P", "sms")
    settled = Review("r3", "p1", now, "ok", "sms", now)
    for one in (later, sooner, settled):
        write(filled, lambda work, one=one: work.consents.add_review(one))
    assert read(filled, lambda work: work.consents.reviews()) == (sooner, later)
    assert read(filled, lambda work: work.consents.reviews(1)) == (sooner,)
