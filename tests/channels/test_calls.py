"""Missed calls: each id once, with whatever follows from it in the same transaction."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from service.channels import Calls, Conflict, MissedCall
from service.records import ConcurrentChange, Review

NOW = datetime(2026, 7, 1, 9, 0, tzinfo=UTC)
CALL = MissedCall("http", "c1", "+10005550100", "12345", NOW)


class Desk:
    """Writes a line for each call, as a desk would a ticket; fails as often as it is told."""

    def __init__(self) -> None:
        self.ids, self.failures = itertools.count(1), 0

    def take(self, work: Any, phone: Any, call: MissedCall, now: datetime) -> None:
        work.consents.add_review(Review(f"d{next(self.ids)}", phone.id, call.at, call.id, "call"))
        if self.failures:
            self.failures -= 1
            raise ConcurrentChange("somebody was quicker")


@pytest.fixture
def desk() -> Desk:
    return Desk()


@pytest.fixture
def calls(unit_of_work: Any, desk: Desk) -> Calls:
    ids = (f"i{number}" for number in itertools.count(1))
    return Calls(unit_of_work=unit_of_work, new_id=lambda: next(ids), missed=desk)


def lines(unit_of_work: Any, number: str = "+10005550100") -> list[str]:
    with unit_of_work() as work:
        phone = work.phones.find(number)
        reviews = work.consents.reviews()
        return [one.words for one in reviews if phone and one.phone_id == phone.id]


def test_a_call_is_kept_with_its_phone_and_handed_on(calls: Calls, unit_of_work: Any) -> None:
    assert calls.take(CALL, NOW + timedelta(seconds=2)) == "taken"
    assert lines(unit_of_work) == ["c1"]
    with unit_of_work() as work:
        kept = work.inbox.find("call-http", "c1")
        assert work.phones.number(kept.phone_id) == "+10005550100"
        assert work.inbox.overdue(NOW + timedelta(days=1)) == ()


def test_the_same_id_again_changes_nothing(calls: Calls, unit_of_work: Any) -> None:
    calls.take(CALL, NOW)
    assert calls.take(CALL, NOW + timedelta(hours=1)) == "repeated"
    with pytest.raises(Conflict, match="already used"):
        calls.take(replace(CALL, number="+10005550101"), NOW)
    assert lines(unit_of_work) == ["c1"]
    assert lines(unit_of_work, "+10005550101") == []


def test_a_clash_leaves_nothing_half_done(calls: Calls, desk: Desk, unit_of_work: Any) -> None:
    desk.failures = 1
    assert calls.take(CALL, NOW) == "taken"
    assert len(lines(unit_of_work)) == 1
    desk.failures = 99
    with pytest.raises(Conflict, match="send it again"):
        calls.take(replace(CALL, id="c2"), NOW)
    assert len(lines(unit_of_work)) == 1


def test_without_anybody_to_care_a_call_is_kept_all_the_same(unit_of_work: Any) -> None:
    calls = Calls(unit_of_work=unit_of_work, new_id=lambda: "i1")
    assert calls.take(CALL, NOW) == "taken"
    assert calls.take(CALL, NOW) == "repeated"


def test_moments_have_a_zone(calls: Calls) -> None:
    with pytest.raises(ValueError, match="without a time zone"):
        calls.take(CALL, datetime(2026, 7, 1, 9, 0))
    with pytest.raises(ValueError, match="without a time zone"):
        calls.take(replace(CALL, at=datetime(2026, 7, 1, 9, 0)), NOW)
