"""Did it work? One question some days after a person at the helpline closed a matter."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from service.outreach import FollowUps, Places, Scan
from service.records import Ticket
from service.text.languages import LANGUAGES
from service.text.measure import measure

DAY = date(2026, 11, 23)


@pytest.fixture
def follow_ups(village: Any, catalogues: Any, places: Places) -> FollowUps:
    return FollowUps(
        unit_of_work=village.unit_of_work,
        translate=catalogues.translate,
        new_id=village.new_id,
        places=places,
        language="en",
    )


@pytest.fixture
def ticket(village: Any, monday: datetime) -> Callable[..., Ticket]:
    """A closed matter of somebody, to be asked about on Monday."""

    def ticket(name: str = "a", **changes: Any) -> Ticket:
        opened = monday - timedelta(days=5)
        made = Ticket(
            f"t-{name}", f"f-{name}", "call_back", f"call:{name}", opened,
            matter="the last line is dry", plot_id=f"p-{name}", state="closed",
            closed_at=opened, outcome="sent to clean the filter", ask_on=DAY,
        )  # fmt: skip
        made = replace(made, **changes)
        with village.unit_of_work() as work:
            assert work.tickets.add(made)
            work.commit()
        return made

    return ticket


def test_one_question_on_the_day(
    village: Any, follow_ups: FollowUps, ticket: Callable[..., Ticket], monday: datetime
) -> None:
    village.farmer("a")
    ticket("a")
    assert follow_ups.scan(monday - timedelta(days=1)) == Scan()
    assert follow_ups.scan(monday) == Scan(looked_at=1, queued=1)
    assert follow_ups.scan(monday + timedelta(days=1)) == Scan(looked_at=1, before=1)
    (message,) = village.texts("a")
    assert message.text == (
        "23 Nov: Some days ago you asked us: the last line is dry. Did it work? "
        "Tell us: menu, Helpline."
    )
    assert (message.kind, message.dedupe_key) == ("reminder", "follow-up:t-a:2026-11-23")
    assert message.not_before == monday + timedelta(hours=1)


def test_a_matter_closed_again_is_asked_about_again(
    village: Any, follow_ups: FollowUps, ticket: Callable[..., Ticket], monday: datetime
) -> None:
    village.farmer("a")
    kept = ticket("a")
    follow_ups.scan(monday)
    with village.unit_of_work() as work:
        work.tickets.save(replace(kept, ask_on=DAY + timedelta(days=7)))
        work.commit()
    assert follow_ups.scan(monday + timedelta(days=7)).queued == 1
    assert len(village.texts("a")) == 2


@pytest.mark.parametrize(
    "changes",
    [{"worked": True}, {"worked": False}, {"ask_on": None}, {"state": "open", "closed_at": None}],
)
def test_nobody_is_asked(
    village: Any,
    follow_ups: FollowUps,
    ticket: Callable[..., Ticket],
    monday: datetime,
    changes: dict[str, Any],
) -> None:
    village.farmer("a")
    ticket("a", **changes)
    assert follow_ups.scan(monday) == Scan()


def test_a_question_is_not_asked_weeks_late(
    village: Any, follow_ups: FollowUps, ticket: Callable[..., Ticket], monday: datetime
) -> None:
    village.farmer("a")
    ticket("a", ask_on=DAY - timedelta(days=15))
    assert follow_ups.scan(monday) == Scan()


@pytest.mark.parametrize("consent", [None, False])
def test_who_did_not_agree_is_left_to_the_desk(
    village: Any,
    follow_ups: FollowUps,
    ticket: Callable[..., Ticket],
    monday: datetime,
    consent: bool | None,
) -> None:
    village.farmer("a", consent=consent)
    ticket("a")
    assert follow_ups.scan(monday) == Scan(looked_at=1, left_out={"no_consent": 1})


def test_a_danger_is_not_named_by_our_own_word_for_it(
    village: Any, follow_ups: FollowUps, ticket: Callable[..., Ticket], monday: datetime
) -> None:
    village.farmer("a")
    ticket("a", matter="splashed")
    follow_ups.scan(monday)
    assert "Some days ago you asked us for help." in village.texts("a")[0].text


@pytest.mark.parametrize("language", LANGUAGES)
def test_long_words_of_a_caller_give_way(
    village: Any,
    follow_ups: FollowUps,
    ticket: Callable[..., Ticket],
    monday: datetime,
    language: str,
) -> None:
    village.farmer("a", language=language)
    ticket("a", matter="मेरी आख़िरी लाइन सूखी है और टंकी टपकती है " * 3)
    follow_ups.scan(monday)
    assert measure(village.texts("a")[0].text).parts <= 2
