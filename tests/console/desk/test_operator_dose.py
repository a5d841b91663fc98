"""Releasing a treatment: cautions stand first, every point is needed, and it can be taken back."""

from __future__ import annotations

import re
from typing import Any

import pytest

from service.advice.upkeep_dose_words import acid_cautions, chlorine_cautions
from service.desk.dose import items

HELPLINE = "/desk/helpline"
CAUTIONS = {"acid": acid_cautions, "chlorine": chlorine_cautions}


@pytest.fixture
def operator(desk: Any) -> Any:
    return desk.sitter("operator")


@pytest.fixture
def place(desk: Any) -> tuple[str, Any]:
    """A plot on which nothing grows any more."""
    ripe = {"weeks_since_planting": 60, "water_source": "clear", "water_sign": "crust"}
    phone, plot = desk.caller(**ripe)
    return f"{HELPLINE}/callers/{phone.id}/plots/{plot.id}/treatment", plot


def ticked(which: Any, *but: str) -> list[str]:
    return [name for name, _ in items(which) if name not in but]


def answers(desk: Any, plot: Any) -> Any:
    with desk.unit_of_work() as work:
        return work.plots.get(plot.id).answers


@pytest.mark.parametrize("which", ["acid", "chlorine"])
def test_all_cautions_stand_before_anything_that_can_be_ticked(
    desk: Any, operator: Any, place: Any, which: str
) -> None:
    page = operator.get(f"{place[0]}?which={which}")
    form = page.index('name="asked"')
    for caution in CAUTIONS[which]():
        assert page.index(caution.text.replace("'", "&#39;")) < form


def test_a_release_is_kept_told_to_the_caller_and_logged(
    desk: Any, operator: Any, place: Any
) -> None:
    address, plot = place
    operator.get(f"{address}?which=acid")
    form = {"which": "acid", "asked": ticked("acid"), "acid": "hydrochloric", "strength": "32 %"}
    page = operator.post(address, **form)
    assert operator.status == 200
    assert "Released today: Acid" in page
    assert not re.search(r"\d ?(mL|g) of", page)
    assert answers(desk, plot)["treatment_released"] == "2026-11-25"
    assert "dose.released" in desk.actions()
    with desk.unit_of_work() as work:
        (message,) = work.outbox.of_phone(plot.phone_id)
    assert "is released" in message.text


def test_a_release_is_taken_back(desk: Any, operator: Any, place: Any) -> None:
    address, plot = place
    operator.get(f"{address}?which=chlorine")
    operator.post(address, which="chlorine", asked=ticked("chlorine"), strength="3,5")
    assert "Released today" in operator.page
    operator.post(f"{address}/withdraw")
    assert "Released today" not in operator.page
    assert not answers(desk, plot)["treatment_released"]


@pytest.mark.parametrize("missing", [name for name, _ in items("acid")])
def test_without_one_point_nothing_is_released(
    desk: Any, operator: Any, place: Any, missing: str
) -> None:
    address, plot = place
    operator.get(f"{address}?which=acid")
    form = {"which": "acid", "acid": "hydrochloric", "strength": "32"}
    page = operator.post(address, **form, asked=ticked("acid", missing))
    assert operator.status == 422
    assert dict(items("acid"))[missing].text in operator.alert
    assert "treatment_released" not in answers(desk, plot)
    # What was ticked stays ticked.
    assert page.count("checked") == len(items("acid")) - 1
    assert 'value="32"' in page


@pytest.mark.parametrize("strength", ["", "strong", "-3", "0", "101", "nan", "inf"])
def test_a_strength_is_a_number_on_a_label(
    desk: Any, operator: Any, place: Any, strength: str
) -> None:
    operator.get(f"{place[0]}?which=acid")
    form = {"which": "acid", "asked": ticked("acid"), "acid": "citric", "strength": strength}
    operator.post(place[0], **form)
    assert operator.status == 422
    assert "Type the strength from the label" in operator.alert
    assert "treatment_released" not in answers(desk, place[1])


def test_where_a_crop_grows_nothing_is_released(desk: Any, operator: Any) -> None:
    phone, plot = desk.caller()
    address = f"{HELPLINE}/callers/{phone.id}/plots/{plot.id}/treatment"
    operator.get(f"{address}?which=chlorine")
    operator.post(address, which="chlorine", asked=ticked("chlorine"), strength="3.5")
    assert operator.status == 422
    assert "a crop grows here" in operator.alert


def test_an_unknown_treatment_is_not_found(operator: Any, place: Any) -> None:
    operator.get(f"{place[0]}?which=vinegar")
    assert operator.status == 404


def test_an_officer_releases_nothing(desk: Any, place: Any) -> None:
    officer = desk.sitter("officer")
    officer.get(f"{place[0]}?which=acid")
    assert officer.status == 403
