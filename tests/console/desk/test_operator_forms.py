"""A conversation as one form: what it leads to, what is kept, and what is asked again."""

from __future__ import annotations

import re
from typing import Any

import pytest

HELPLINE = "/desk/helpline"


@pytest.fixture
def operator(desk: Any) -> Any:
    return desk.sitter("operator")


@pytest.fixture
def place(desk: Any) -> tuple[str, Any]:
    phone, plot = desk.caller()
    return f"{HELPLINE}/callers/{phone.id}/plots/{plot.id}/form", plot


def answers(desk: Any, plot: Any) -> Any:
    with desk.unit_of_work() as work:
        return work.plots.get(plot.id).answers


def fields_of(page: str) -> dict[str, str]:
    """Return what stands in the fields of a form, as a browser would send it."""
    typed = dict(re.findall(r'<input id="[^"]*" name="([^"]*)" value="([^"]*)"', page))
    for select in re.findall(r"<select.*?</select>", page, re.S):
        chosen = re.findall(r'value="([^"]*)" selected', select)
        typed[re.findall(r'name="([^"]*)"', select)[0]] = chosen[0] if chosen else ""
    return typed


def hidden(page: str, name: str) -> str:
    return re.findall(rf'name="{name}" value="([^"]*)"', page)[0]


def test_every_question_stands_on_the_form_with_what_is_known(operator: Any, place: Any) -> None:
    page = operator.get(f"{place[0]}/plan")
    for name in ("plot_length_m", "plot_width_m", "crop", "tank_volume_l", "main_pipe"):
        assert f'id="{name}"' in page
        assert f'for="{name}"' in page
    assert 'name="tank_volume_l" value="500"' in page
    assert "A full tank lasts" in page


def test_reckoning_shows_the_new_result_and_keeps_nothing(
    desk: Any, operator: Any, place: Any
) -> None:
    before = operator.get(f"{place[0]}/myplot")
    page = operator.post(f"{place[0]}/myplot", do="reckon", stand_height_m="0.3")
    assert operator.status == 200
    assert 'name="stand_height_m" value="0.3"' in page
    assert result_of(page) != result_of(before)
    assert answers(desk, place[1])["stand_height_m"] == 1.5


def result_of(page: str) -> str:
    return page.split('id="result"')[1].split("</section>")[0]


def test_keeping_writes_to_the_plot(desk: Any, operator: Any, place: Any) -> None:
    page = operator.get(f"{place[0]}/myplot")
    revision = hidden(page, "revision")
    operator.post(f"{place[0]}/myplot", do="keep", revision=revision, tank_volume_l="2 drums")
    assert operator.notice == "The answers are kept with the plot."
    assert answers(desk, place[1])["tank_volume_l"] > 0
    assert answers(desk, place[1])["tank_volume_l"] != 500


def test_what_is_not_understood_is_said_at_its_field_and_nothing_kept(
    desk: Any, operator: Any, place: Any
) -> None:
    page = operator.get(f"{place[0]}/myplot")
    form = {"do": "keep", "revision": hidden(page, "revision")}
    page = operator.post(f"{place[0]}/myplot", **form, tank_volume_l="lots", stand_height_m="2")
    assert operator.status == 422
    assert 'id="tank_volume_l-problem"' in page
    assert 'name="tank_volume_l" value="lots"' in page
    assert 'aria-describedby="tank_volume_l-problem' in page
    assert re.search(r'id="tank_volume_l"[^>]* autofocus', page)
    assert answers(desk, place[1])["stand_height_m"] == 1.5


def test_two_forms_do_not_write_over_each_other(desk: Any, operator: Any, place: Any) -> None:
    address, plot = place
    page = operator.get(f"{address}/myplot")
    revision = hidden(page, "revision")
    operator.post(f"{address}/myplot", do="keep", revision=revision, stand_height_m="2")
    page = operator.post(
        f"{address}/myplot", **{**fields_of(page), "stand_height_m": "3"}, do="keep",
        revision=revision,
    )  # fmt: skip
    assert operator.status == 409
    assert 'name="stand_height_m" value="3"' in page
    assert "Meanwhile somebody kept: 2" in page
    assert page.count("Meanwhile") == 1
    assert answers(desk, plot)["stand_height_m"] == 2
    # Whoever has seen that may keep their own.
    form = {"do": "keep", "revision": hidden(page, "revision")}
    operator.post(f"{address}/myplot", **form, **fields_of(page))
    assert operator.notice == "The answers are kept with the plot."
    assert answers(desk, plot)["stand_height_m"] == 3


@pytest.mark.parametrize("revision", ["", "x", "-1", "9" * 40, "\u0663"])
def test_a_form_without_its_version_is_refused(operator: Any, place: Any, revision: str) -> None:
    operator.get(f"{place[0]}/myplot")
    operator.post(f"{place[0]}/myplot", do="keep", revision=revision, stand_height_m="2")
    assert operator.status == 404


def test_the_script_gets_the_result_part_alone(desk: Any, operator: Any, place: Any) -> None:
    page = operator.get(f"{place[0]}/plan")
    address = re.findall(r'data-result="([^"]*)"', page)[0].replace("&amp;", "&")
    part = operator.post(address, plot_length_m="30", plot_width_m="20")
    assert operator.status == 200
    assert "A full tank lasts" in part
    assert "<html" not in part
    assert "plot_length_m" not in answers(desk, place[1])


def test_results_that_say_the_same_stand_once(operator: Any, place: Any) -> None:
    page = operator.get(f"{place[0]}/check")
    assert result_of(page).count("make no plot") <= 1


def test_the_cups_of_a_test_can_be_told_apart(operator: Any, place: Any) -> None:
    page = operator.get(f"{place[0]}/check")
    labels = re.findall(r'<label for="check_\d_\d">(.*?)</label>', page)
    assert labels[0].startswith("Measured line 1, cup 1.")
    assert len(set(labels)) == len(labels) > 10


@pytest.mark.parametrize("flow", ["start", "reminders", "nonsense"])
def test_what_is_no_form_is_not_found(operator: Any, place: Any, flow: str) -> None:
    operator.get(f"{place[0]}/{flow}")
    assert operator.status == 404


def test_every_conversation_that_is_a_form_can_be_shown(
    desk: Any, operator: Any, place: Any, dialogue: Any
) -> None:
    for flow in dialogue.book.flows:
        if flow in ("start", "reminders"):
            continue
        operator.get(f"{place[0]}/{flow}")
        assert operator.status == 200, flow
