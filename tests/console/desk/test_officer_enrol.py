"""Enrolling on paper: the form, its quick entry with a cup test, and the handover record."""

from __future__ import annotations

import re
from typing import Any

import pytest

FIELDS = {
    "number": "0712 345 678",
    "name": "Amina",
    "language": "sw",
    "groups": "women; hill",
    "district": "kotsindo",
    "laid_lines": "15",
    "laid_line_length_m": "20",
    "crop": "1",
    "weeks_since_planting": "5",
    "tank_volume_l": "500",
    "stand_height_m": "1.5",
    "consent": "yes",
}


@pytest.fixture
def officer(desk: Any) -> Any:
    return desk.sitter("officer")


def enrol(sitter: Any, **more: Any) -> str:
    sitter.get("/desk/field/enrol")
    return str(sitter.post("/desk/field/enrol", **{**FIELDS, **more}))


def notices(page: str) -> list[str]:
    return re.findall(r'class="notice" role="status">(.*?)</p>', page)


def kept(desk: Any) -> Any:
    with desk.unit_of_work() as work:
        phone = work.phones.find("+254712345678")
        return work.farmers.history(phone.id) if phone else None


def test_the_paper_asks_what_the_entry_takes(officer: Any) -> None:
    officer.get("/desk/field/enrol")
    asked = re.findall(r'<label for="(\w+)">([^<]*)', officer.page)
    officer.get("/desk/field/enrol/paper")
    assert len(officer.page.encode()) < 60_000
    plot = asked[[name for name, _ in asked].index("district") :]
    questions = [words.strip() for name, words in plot if not name.startswith(("cup", "consent"))]
    assert len(questions) > 12
    for words in questions:
        assert f"<dt>{words}" in officer.page
    assert "signature" in officer.page


def test_a_form_is_typed_in_and_its_record_shown(desk: Any, officer: Any) -> None:
    enrol(officer)
    assert notices(officer.page) == ["The plot is kept."]
    assert "<h1>Handover record</h1>" in officer.page
    assert "+254712345678" in officer.page
    assert "Nothing was measured yet" in officer.page
    history = kept(desk)
    assert history.people[0].groups == ("women", "hill")
    assert history.phone.language == "sw"
    assert history.consents[0].given
    assert history.plots[0].answers["laid_lines"] == 15


def test_minutes_and_cups_are_told_as_what_they_say(desk: Any, officer: Any) -> None:
    enrol(officer, laid_minutes="70", cups="48 48 48 48\n" * 4, cup_minutes="6", cup_tank="1")
    assert any("Drippers as measured" in one for one in notices(officer.page))
    assert "cup test with 16 cups" in officer.page
    assert "evenness 100 %" in officer.page
    assert "a full tank lasted 70 min" in officer.page
    assert {one["by"] for one in kept(desk).plots[0].answers["measurements"]} == {
        "cups", "minutes",
    }  # fmt: skip


def test_a_measurement_that_cannot_be_is_told_and_not_kept(desk: Any, officer: Any) -> None:
    enrol(officer, laid_minutes="5")
    assert "A measurement does not fit the plot and was not kept." in notices(officer.page)
    assert any(one.startswith("Too fast") for one in notices(officer.page))
    assert "measurements" not in kept(desk).plots[0].answers


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"cups": "48 48\n48 48"}, "The cups do not fit this plot."),
        ({"cups": "48 many 48 48"}, "Cups: many is no number"),
        ({"cups": "48 48 48 48\n" * 4, "cup_minutes": "0"}, "is no number"),
        ({"number": "12"}, "no phone number"),
        ({"name": ""}, ""),
    ],
)
def test_what_was_typed_stays_when_an_entry_is_refused(
    desk: Any, officer: Any, more: dict[str, str], why: str
) -> None:
    enrol(officer, **more)
    assert officer.status == 422
    assert officer.alert
    assert why in officer.alert
    assert 'value="15"' in officer.page
    assert re.search(r'value="kotsindo" selected', officer.page)
    assert re.search(r'name="consent" value="yes" checked', officer.page)
    assert kept(desk) is None


def test_what_is_missing_or_not_understood_is_told_at_its_field(desk: Any, officer: Any) -> None:
    enrol(officer, tank_volume_l="", laid_lines="many")
    assert officer.status == 422
    assert "2 fields must be put right" in officer.page
    assert 'id="tank_volume_l-problem">This must be filled in.' in officer.page
    assert 'id="laid_lines-problem"' in officer.page
    assert kept(desk) is None


def test_a_kept_plot_is_handed_over_with_what_is_known(desk: Any, officer: Any) -> None:
    enrol(officer)
    plot = kept(desk).plots[0]
    officer.get(f"/desk/field/plots/{plot.id}/handover")
    assert 'value="Amina"' in officer.page
    assert re.search(r'id="laid_lines" name="laid_lines" value="15"', officer.page)
    officer.post(
        f"/desk/field/plots/{plot.id}/handover",
        **{**FIELDS, "number": "+254712345678", "laid_lines": "12", "consent": ""},
    )
    assert "<h1>Handover record</h1>" in officer.page
    history = kept(desk)
    assert len(history.plots) == 1
    assert history.plots[0].answers["laid_lines"] == 12
    assert len(history.consents) == 1
    assert "plot.handed_over" in desk.actions()


def test_a_plot_of_another_district_is_not_handed_over(desk: Any) -> None:
    _, plot = desk.caller()
    bound = desk.sitter("bound")
    for page in ("handover", "record"):
        bound.get(f"/desk/field/plots/{plot.id}/{page}")
        assert bound.status == 403
    enrol(bound)
    assert bound.status == 403
    assert kept(desk) is None
