"""A long list of farmers, kept many rows at a time; a review settled once."""

from __future__ import annotations

import pytest

from service.records import Audience, ConcurrentChange, Consent, Person, Phone, Plot, Review


def kept(now, name: str, number: str):
    phone = Phone(f"p{name}", number, "sw", now)
    person = Person(f"n{name}", phone.id, f"Name {name}", now, ("women",))
    plot = Plot(f"q{name}", phone.id, now, now, person_id=person.id)
    return phone, person, plot, Consent(f"c{name}", phone.id, now, True, "yes", "paper")


def test_rows_of_a_list_are_there_with_groups_and_consent(store, now):
    rows = [kept(now, str(place), f"+25471000000{place}") for place in range(3)]
    with store.unit_of_work() as work:
        work.farmers.add_all(*map(list, zip(*rows, strict=True)))
        work.commit()
    with store.unit_of_work() as work:
        found = work.farmers.page(Audience(groups=("women",)), "", 10)
    assert [(one.phone, one.person, one.plot, one.consent) for one in found] == [
        (phone, person, plot, True) for phone, person, plot, _ in rows
    ]


def test_an_empty_list_keeps_nothing(store):
    with store.unit_of_work() as work:
        work.farmers.add_all([], [], [], [])
        work.commit()
        assert work.farmers.count(Audience()) == 0


def test_a_number_that_is_there_already_keeps_nothing_of_the_list(store, now):
    with store.unit_of_work() as work:
        work.phones.add(Phone("old", "+254710000001", None, now))
        work.commit()
    rows = [kept(now, str(place), f"+25471000000{place}") for place in range(3)]
    given = [*map(list, zip(*rows, strict=True))]
    with store.unit_of_work() as work, pytest.raises(ConcurrentChange):
        work.farmers.add_all(*given)
    with store.unit_of_work() as work:
        assert work.farmers.count(Audience()) == 0
        assert work.phones.find("+254710000000") is None


def test_a_review_is_settled(store, now, a_phone):
    with store.unit_of_work() as work:
        work.phones.add(a_phone)
        work.consents.add_review(Review("r", a_phone.id, now, "leave me", "sms"))
        work.consents.settle_review("r", now)
        work.commit()
    with store.unit_of_work() as work:
        assert work.consents.reviews() == ()
