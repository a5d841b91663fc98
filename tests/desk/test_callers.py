"""Finding callers within a bound, seeing everything of one, changing who belongs to a phone."""

from __future__ import annotations

from typing import Any

import pytest

from service.desk.callers import Callers
from service.desk.refusals import DeskRefused, NotYours

NUMBER = "+254712345678"


@pytest.fixture
def phone(desk: Any) -> Any:
    return desk.phone(NUMBER)


@pytest.mark.parametrize("text", [NUMBER, "0712 345 678", "00254712345678", "345678", "712-345678"])
def test_a_number_is_found_however_it_is_written(desk, phone, text):
    found = desk.callers.by_number(desk.operator, text, desk.now)
    assert [one.phone_id for one in found] == [phone.id]
    assert "345" not in found[0].masked


@pytest.mark.parametrize("text", ["45678", "5678", "", "abc"])
def test_fewer_than_six_digits_find_nobody(desk, phone, text):
    with pytest.raises(DeskRefused, match="at least its last 6"):
        desk.callers.by_number(desk.operator, text, desk.now)


def test_a_search_finds_ten_at_most(desk):
    for place in range(12):
        desk.phone(f"+2547{place:02d}345678")
    assert len(desk.callers.by_number(desk.operator, "345678", desk.now)) == 10


def test_a_name_is_found_by_some_of_its_letters(desk, phone):
    desk.people.add_person(desk.operator, phone.id, "Amina Diallo", desk.now)
    found = desk.callers.by_name(desk.operator, "diAL", desk.now)
    assert [one.names for one in found] == [("Amina Diallo",)]
    with pytest.raises(DeskRefused, match="two letters"):
        desk.callers.by_name(desk.operator, "d", desk.now)


def test_looks_are_bounded_by_account_and_hour(desk, phone):
    callers = Callers(desk.office, "KE", looks_an_hour=3)
    other = desk.callers.add(desk.officer, "+254712000009", desk.now)
    callers.by_number(desk.operator, NUMBER, desk.now)
    callers.see(desk.operator, phone.id, desk.now)
    callers.by_name(desk.operator, "am", desk.now)
    for look in (
        lambda: callers.by_number(desk.operator, NUMBER, desk.now),
        lambda: callers.see(desk.operator, other.id, desk.now),
        lambda: callers.add(desk.operator, NUMBER, desk.now),
    ):
        with pytest.raises(DeskRefused, match="in an hour"):
            look()
    assert callers.see(desk.operator, phone.id, desk.now), "seen already: no new look"
    assert callers.see(desk.officer, phone.id, desk.now)
    assert callers.see(desk.operator, phone.id, desk.later(minutes=61))


def test_numbers_cannot_be_tried_by_adding_them(desk, phone, bound_officer):
    """Whether a number is new, known or another district's is an answer: all three count."""
    callers = Callers(desk.office, "KE", looks_an_hour=3)
    callers.add(bound_officer, "+254712000001", desk.now)
    callers.add(bound_officer, "+254712000002", desk.now)
    with pytest.raises(DeskRefused, match="district"):
        callers.add(bound_officer, NUMBER, desk.now)
    with pytest.raises(DeskRefused, match="in an hour"):
        callers.add(bound_officer, "+254712000003", desk.now)
    with desk.unit_of_work() as work:
        assert work.phones.find("+254712000003") is None


def test_each_look_is_in_the_log_without_the_number(desk, phone):
    desk.callers.by_number(desk.operator, NUMBER, desk.now)
    desk.callers.see(desk.operator, phone.id, desk.now)
    with desk.unit_of_work() as work:
        lines = work.accounts.lines(account_id=desk.operator.id)
    assert [line.action for line in lines] == ["caller.seen", "caller.looked_for"]
    assert lines[0].subject_id == phone.id
    assert "345678" not in repr(lines)


def test_one_page_shows_people_plots_messages_tickets_and_consent(desk, phone):
    people, now = desk.people, desk.now
    amina = people.add_person(desk.operator, phone.id, "Amina", now, groups=["women", " "])
    people.add_person(desk.operator, phone.id, "Musa", now)
    first = desk.plot(phone)
    second = people.add_plot(desk.operator, phone.id, "by the river", now, person_id=amina.id)
    people.record_consent(desk.operator, phone.id, "yes, weekly please", "call", now, given=True)
    view = desk.callers.see(desk.operator, phone.id, now)
    assert [one.name for one in view.people] == ["Amina", "Musa"]
    assert view.people[0].groups == ("women",)
    assert {one.id for one in view.plots} == {first.id, second.id}
    assert view.current is not None
    assert view.current.id == second.id
    assert [one.id for one in view.plots_of(amina.id)] == [second.id]
    assert [(one.by, one.channel, one.words) for one in view.consents] == [
        ("operator", "call", "yes, weekly please")
    ]
    back = people.turn_to(desk.operator, first.id, now)
    assert back.current
    view = desk.callers.see(desk.operator, phone.id, now)
    assert [one.id for one in view.plots if one.current] == [first.id]


def test_names_of_people_and_plots_can_be_changed(desk, phone):
    person = desk.people.add_person(desk.operator, phone.id, "Amina", desk.now)
    plot = desk.plot(phone)
    desk.people.change_person(desk.operator, person.id, desk.now, name="Amina D.", note="deaf")
    desk.people.change_plot(desk.operator, plot.id, desk.now, name="hill", person_id=person.id)
    view = desk.callers.see(desk.operator, phone.id, desk.now)
    assert (view.people[0].name, view.people[0].note) == ("Amina D.", "deaf")
    assert (view.plots[0].name, view.plots[0].person_id) == ("hill", person.id)


def test_a_plot_is_not_given_to_a_stranger(desk, phone):
    stranger = desk.people.add_person(desk.operator, desk.phone().id, "Stranger", desk.now)
    plot = desk.plot(phone)
    with pytest.raises(DeskRefused, match="does not belong"):
        desk.people.change_plot(desk.operator, plot.id, desk.now, person_id=stranger.id)


def test_a_yes_needs_the_callers_words_and_a_stop_does_not(desk, phone):
    with pytest.raises(DeskRefused, match="what the caller said"):
        desk.people.record_consent(desk.operator, phone.id, " ", "call", desk.now, given=True)
    desk.people.record_consent(desk.officer, phone.id, "", "visit", desk.now, given=False)
    with desk.unit_of_work() as work:
        latest = work.consents.latest(phone.id)
    assert latest is not None
    assert (latest.given, latest.by, latest.channel) == (False, "officer", "visit")
    assert desk.actions()[-1] == "consent.stopped"


def test_a_language_of_the_list_only(desk, phone):
    desk.people.set_language(desk.operator, phone.id, "sw", desk.now)
    assert desk.callers.see(desk.operator, phone.id, desk.now).phone.language == "sw"
    with pytest.raises(DeskRefused, match="of the list"):
        desk.people.set_language(desk.operator, phone.id, "xx", desk.now)


def test_an_officer_sees_callers_of_the_own_districts_only(desk, phone, bound_officer):
    plot = desk.plot(phone)
    for look in (
        lambda: desk.callers.see(bound_officer, phone.id, desk.now),
        lambda: desk.callers.add(bound_officer, NUMBER, desk.now),
        lambda: desk.people.add_person(bound_officer, phone.id, "Amina", desk.now),
        lambda: desk.people.turn_to(bound_officer, plot.id, desk.now),
        lambda: desk.people.record_consent(
            bound_officer, phone.id, "yes yes", "call", desk.now, given=True
        ),
    ):
        with pytest.raises(NotYours):
            look()
    assert desk.callers.by_number(bound_officer, NUMBER, desk.now) == ()
    other = desk.phone("+254712345679")
    desk.plot(other, answers={"district": "velmora"})
    assert desk.callers.see(bound_officer, other.id, desk.now)


def test_a_new_number_is_kept_once(desk):
    first = desk.callers.add(desk.operator, "0712345678", desk.now, "sw")
    again = desk.callers.add(desk.operator, NUMBER, desk.now)
    assert first.id == again.id
    with pytest.raises(DeskRefused, match="no phone number"):
        desk.callers.add(desk.operator, "07I2345678", desk.now)


def test_an_admin_alone_may_do_what_others_may(desk, phone):
    assert desk.callers.see(desk.admin, phone.id, desk.now)
