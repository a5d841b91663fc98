"""Who is in a district or a group, page by page, within the reach of an account."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from service.desk.refusals import NotYours, Unknown
from service.desk.roster import Roster, group_id
from service.records import Audience, Person, Phone, Plot


@pytest.fixture
def roster(desk: Any) -> Roster:
    """Five plots: three in velmora, one in aruneth, one nowhere; two of one group."""
    with desk.unit_of_work() as work:
        for n, district in enumerate(("velmora", "velmora", "velmora", "aruneth", "")):
            phone = Phone(f"p{n}", f"+25471234567{n}", "en", desk.now)
            work.phones.add(phone)
            groups = ("Hill",) if n in (0, 3) else ()
            work.people.add(Person(f"n{n}", phone.id, f"Name {n}", desk.now, groups))
            told = {"district": district} if district else {}
            work.plots.add(
                Plot(f"q{n}", phone.id, desk.now, desk.now, answers=told, person_id=f"n{n}")
            )
        work.commit()
    return Roster(desk.office, page=2)


@pytest.fixture
def bound(desk: Any) -> Any:
    return replace(desk.officer, districts=("aruneth",))


def test_districts_are_counted_and_so_are_plots_without_one(desk: Any, roster: Roster) -> None:
    found = {line.key: line.plots for line in roster.districts(desk.officer)}
    assert {key: found[key] for key in ("velmora", "aruneth", "")} == {
        "velmora": 3, "aruneth": 1, "": 1,
    }  # fmt: skip


def test_groups_are_counted_and_found_by_their_id(desk: Any, roster: Roster, bound: Any) -> None:
    [line] = roster.groups(desk.officer)
    assert (line.id, line.name, line.plots) == (group_id("Hill"), "Hill", 2)
    assert [one.plots for one in roster.groups(bound)] == [1]
    assert roster.group(desk.officer, line.id) == "Hill"
    with pytest.raises(Unknown):
        roster.group(desk.officer, group_id("hill"))


def test_farmers_come_page_by_page_with_masked_numbers(desk: Any, roster: Roster) -> None:
    seen, after, pages = [], "", 0
    while True:
        page = roster.farmers(desk.officer, Audience(("velmora",)), desk.now, after)
        assert page.total == 3
        seen += [(line.farmer.plot.id, line.masked) for line in page.lines]
        after, pages = page.after, pages + 1
        if not after:
            break
    assert [plot for plot, _ in seen] == ["q0", "q1", "q2"]
    assert pages == 2
    assert all("2345" not in number for _, number in seen)
    assert desk.actions().count("farmers.listed") == 2


def test_an_officer_of_one_district_lists_no_other(desk: Any, roster: Roster, bound: Any) -> None:
    assert [line.key for line in roster.districts(bound)] == ["aruneth"]
    page = roster.farmers(bound, Audience(), desk.now)
    assert [line.farmer.plot.id for line in page.lines] == ["q3"]
    with pytest.raises(NotYours):
        roster.farmers(bound, Audience(("velmora",)), desk.now)


def test_operators_have_no_lists(desk: Any, roster: Roster) -> None:
    for call in (
        lambda: roster.districts(desk.operator),
        lambda: roster.groups(desk.operator),
        lambda: roster.farmers(desk.operator, Audience(), desk.now),
    ):
        with pytest.raises(NotYours):
            call()
