"""Releasing a treatment: who may, when it is refused, and what the phone then tells."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from service.desk.dose import Checklist, Doses, items
from service.desk.refusals import DeskRefused, NotYours

OVER = {"weeks_since_planting": 60, "weeks_told_on": "2026-11-25"}
"""Tomato planted more than a year ago: nothing grows."""
ACID = Checklist(
    "acid", 32, "hydrochloric", **{name: True for name, _ in items("acid")}
)  # fmt: skip
CHLORINE = Checklist("chlorine", 3.5, **{name: True for name, _ in items("chlorine")})
AMOUNT = re.compile(r"\d (mL|L|g)\b of|\d mL")
TO_ACID = ("Upkeep", "5", "1", "1", "1", "2", "3", "32", "1")
TO_CHLORINE = ("Upkeep", "5", "2", "1", "1", "1", "3.5", "1")


@pytest.fixture
def doses(desk: Any) -> Doses:
    return Doses(desk.office, desk.speech.translate, desk.context_for)


@pytest.fixture
def plot(desk: Any) -> Any:
    more = {**OVER, "water_source": "clear", "water_sign": "crust"}
    return desk.plot(desk.phone(), name="hill", answers=more)


def phone_tells(desk: Any, make_telephone: Any, *texts: str) -> str:
    caller = make_telephone(desk)
    caller.dial()
    for text in texts[:-1]:
        caller.say(text)
    pages = [caller.say(texts[-1])]
    while pages[-1].endswith("# More"):
        pages.append(caller.say("#"))
    return "\n".join(pages)


def test_before_a_release_the_phone_tells_no_amount(desk, plot, make_telephone):
    assert not AMOUNT.search(phone_tells(desk, make_telephone, *TO_ACID))


def test_after_it_the_phone_tells_the_amount_with_its_cautions_that_day_only(
    desk, doses, plot, make_telephone
):
    doses.release(desk.operator, plot.id, ACID, desk.now)
    told = phone_tells(desk, make_telephone, *TO_ACID)
    amount = AMOUNT.search(told)
    assert amount is not None
    assert told.index("Goggles") < amount.start()
    desk.later(days=1)
    assert not AMOUNT.search(phone_tells(desk, make_telephone, *TO_ACID))


def test_the_caller_gets_a_text_that_names_plot_day_and_helper_and_no_amount(desk, doses, plot):
    released = doses.release(desk.operator, plot.id, ACID, desk.now)
    assert desk.outbox(plot.phone_id) == [released.text]
    for words in ("hill", "25 Nov", "trained helper", "0800 555"):
        assert words in released.text
    assert not AMOUNT.search(released.text)
    with desk.unit_of_work() as work:
        (message,) = work.outbox.of_phone(plot.phone_id)
    assert message.kind == "alert"
    assert message.parts <= 2


@pytest.mark.parametrize("name", [name for name, _ in items("acid")])
def test_each_point_of_the_list_must_be_ticked_for_acid(desk, doses, plot, name):
    with pytest.raises(DeskRefused) as told:
        doses.release(desk.operator, plot.id, replace(ACID, **{name: False}), desk.now)
    assert told.value.phrase == dict(items("acid"))[name]
    assert desk.stored_plot(plot.id) == plot
    assert desk.outbox(plot.phone_id) == []


@pytest.mark.parametrize("name", [name for name, _ in items("chlorine")])
def test_each_point_of_the_list_must_be_ticked_for_chlorine(desk, doses, plot, name):
    with pytest.raises(DeskRefused):
        doses.release(desk.operator, plot.id, replace(CHLORINE, **{name: False}), desk.now)
    assert desk.stored_plot(plot.id) == plot


@pytest.mark.parametrize(
    ("change", "checklist", "reason"),
    [
        ({"weeks_since_planting": 5}, ACID, "a crop grows here"),
        ({"upkeep_acid_done": "2026-11-01"}, ACID, "once is enough"),
        ({"upkeep_chlorine_done": "2026-11-20"}, ACID, "a gas that kills"),
        ({}, replace(ACID, acid="vinegar"), "without its name"),
        ({}, replace(ACID, strength_pct=99), "outside what may be told"),
        ({"laid_lines": ""}, ACID, "not known well enough"),
        ({"weeks_since_planting": 5}, CHLORINE, "a crop grows here"),
        ({"upkeep_acid_done": "2026-11-20"}, CHLORINE, "a gas that kills"),
        ({"water_sign": "brown"}, CHLORINE, "rust"),
        ({}, replace(CHLORINE, strength_pct=60), "outside what may be told"),
    ],
)
def test_it_is_refused_where_the_conversation_refuses(desk, doses, change, checklist, reason):
    answers = {**OVER, "water_sign": "crust", **change}
    plot = desk.plot(desk.phone(), answers=answers)
    with pytest.raises(DeskRefused, match=reason):
        doses.release(desk.operator, plot.id, checklist, desk.now)
    assert "treatment_released" not in desk.stored_plot(plot.id).answers
    assert "dose.released" not in desk.actions()


def test_only_an_operator_releases(desk, doses, plot):
    with pytest.raises(NotYours):
        doses.release(desk.officer, plot.id, ACID, desk.now)


def test_a_release_is_logged_with_what_was_ticked(desk, doses, plot):
    doses.release(desk.operator, plot.id, CHLORINE, desk.now)
    with desk.unit_of_work() as work:
        line = work.accounts.lines(subject_id=plot.id)[0]
    assert line.action == "dose.released"
    assert line.account_id == desk.operator.id
    assert line.detail["treatment"] == "chlorine"
    assert line.detail["strength_pct"] == 3.5
    assert "trained_helper" in line.detail["ticked"]


def test_a_release_taken_back_tells_no_amount(desk, doses, plot, make_telephone):
    doses.release(desk.operator, plot.id, ACID, desk.now)
    doses.withdraw(desk.operator, plot.id, desk.now)
    assert not AMOUNT.search(phone_tells(desk, make_telephone, *TO_ACID))


def test_a_release_reaches_a_conversation_that_stands_open(desk, doses, plot, make_telephone):
    caller = make_telephone(desk)
    caller.dial()
    for text in TO_ACID[:-1]:
        caller.say(text)
    doses.release(desk.operator, plot.id, ACID, desk.now + timedelta(seconds=1))
    pages = [caller.say(TO_ACID[-1])]
    while pages[-1].endswith("# More"):
        pages.append(caller.say("#"))
    assert AMOUNT.search("\n".join(pages))
