"""A conversation as one form: its fields, what is not understood, and what follows."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from service.desk.form import Forms
from service.desk.refusals import Clash, DeskRefused, NotYours

PLAN = {
    "district": "kotsindo",
    "plot_length_m": "20",
    "plot_width_m": "15",
    "crop": "1",
    "weeks_since_planting": "3",
    "tank_volume_l": "2 drums",
    "stand_height_m": "1.5",
}


@pytest.fixture
def forms(desk: Any) -> Forms:
    return Forms(desk.office, desk.dialogue, desk.speech, desk.context_for)


@pytest.fixture
def bare(desk: Any) -> Any:
    """A plot of which only the place is known."""
    phone = desk.phone()
    return desk.people.add_plot(desk.operator, phone.id, "hill", desk.now)


def names(form: Any) -> list[str]:
    return [field.name for field in form.fields]


def test_the_fields_are_the_questions_of_the_flow_file_in_their_order(desk, forms, bare):
    form = forms.show(desk.operator, bare.id, "plan", desk.now)
    asked = [
        state.store
        for state in desk.dialogue.book.flows["plan"].states.values()
        if state.store and state.say and state.kind != "branch"
    ]
    assert names(form) == ["district", *asked]
    tank = next(field for field in form.fields if field.name == "tank_volume_l")
    assert (tank.kind, tank.unit, tank.low, tank.high) == ("number", "l", 20, 20000)
    soil = next(field for field in form.fields if field.name == "soil")
    assert [choice.key for choice in soil.choices] == ["1", "2", "3"]


@pytest.mark.parametrize("flow", ["plan", "myplot", "water", "enough", "feed", "fault", "season"])
def test_every_conversation_can_be_shown_for_an_empty_and_a_laid_plot(desk, forms, bare, flow):
    assert forms.show(desk.operator, bare.id, flow, desk.now).fields
    laid = desk.plot(desk.phone("+10005550177"))
    assert forms.show(desk.operator, laid.id, flow, desk.now).fields


def test_what_is_typed_is_reckoned_at_once_and_kept_only_when_filled(desk, forms, bare):
    preview = forms.preview(desk.operator, bare.id, "plan", PLAN, desk.now)
    assert preview.plan is not None
    assert not preview.saved
    assert "crop" not in desk.stored_plot(bare.id).answers
    filled = forms.fill(desk.operator, bare.id, "plan", PLAN, desk.now, preview.revision)
    assert filled.saved
    assert filled.plan == preview.plan
    kept = desk.stored_plot(bare.id).answers
    assert (kept["tank_volume_l"], kept["crop"], kept["weeks_told_on"]) == (
        400,
        "tomato",
        "2026-11-25",
    )


def test_the_results_are_the_screens_of_the_conversation_with_their_cost(desk, forms, bare):
    filled = forms.fill(desk.operator, bare.id, "plan", PLAN, desk.now)
    places = [one.state for one in filled.results]
    assert {"care", "layout_good", "watering", "parts", "months", "short"} <= set(places) or {
        "care",
        "layout_poor",
        "remedies",
        "watering",
    } <= set(places)
    short = next(one for one in filled.results if one.state == "short")
    assert 1 <= short.seen.sms[0].parts <= 2
    assert all(page.units <= 160 for one in filled.results for page in one.seen.ussd)


def test_what_is_not_understood_is_told_at_its_field_and_nothing_is_kept(desk, forms, bare):
    typed = {**PLAN, "tank_volume_l": "two", "crop": "99", "district": "nowhere"}
    filled = forms.fill(desk.operator, bare.id, "plan", typed, desk.now)
    assert set(filled.problems) == {"tank_volume_l", "crop", "district"}
    assert not filled.saved
    assert "plot_length_m" not in desk.stored_plot(bare.id).answers


def test_an_emptied_field_takes_its_answer_away_and_an_absent_one_keeps_it(desk, forms, bare):
    forms.fill(desk.operator, bare.id, "plan", {**PLAN, "soil": "1"}, desk.now)
    forms.fill(desk.operator, bare.id, "plan", {"soil": ""}, desk.now)
    kept = desk.stored_plot(bare.id).answers
    assert "soil" not in kept
    assert kept["plot_length_m"] == 20


def test_two_forms_at_once_do_not_write_over_each_other(desk, forms, bare):
    shown = forms.show(desk.operator, bare.id, "plan", desk.now)
    forms.fill(desk.operator, bare.id, "plan", PLAN, desk.now, shown.revision)
    with pytest.raises(Clash):
        forms.fill(desk.operator, bare.id, "plan", {"crop": "2"}, desk.now, shown.revision)
    assert desk.stored_plot(bare.id).answers["crop"] == "tomato"


def test_weeks_go_on_and_a_form_sent_unchanged_does_not_plant_anew(desk, forms):
    plot = desk.plot(desk.phone())
    later = desk.now + timedelta(weeks=3)
    form = forms.show(desk.operator, plot.id, "plan", later)
    weeks = next(field for field in form.fields if field.name == "weeks_since_planting")
    assert weeks.typed == "8"
    typed = {"weeks_since_planting": weeks.typed, "tank_volume_l": "600"}
    forms.fill(desk.operator, plot.id, "plan", typed, later)
    kept = desk.stored_plot(plot.id).answers
    assert (kept["weeks_since_planting"], kept["weeks_told_on"]) == (5, "2026-11-25")
    assert kept["tank_volume_l"] == 600


def test_a_form_shown_and_sent_back_unchanged_changes_nothing(desk, forms):
    plot = desk.plot(desk.phone(), answers={"emitter_spacing_m": 0.3, "soil": "loam"})
    form = forms.show(desk.operator, plot.id, "plan", desk.now)
    typed = {field.name: field.typed for field in form.fields}
    forms.fill(desk.operator, plot.id, "plan", typed, desk.now)
    assert desk.stored_plot(plot.id).answers == plot.answers


def test_minutes_of_my_plot_are_a_measurement_unless_they_contradict(desk, forms):
    # conftest of tests/flows: a full tank of this plot takes about 64 minutes.
    plot = desk.plot(desk.phone())
    filled = forms.fill(desk.operator, plot.id, "myplot", {"laid_minutes": "70"}, desk.now)
    kept = desk.stored_plot(plot.id).answers["measurements"]
    assert [(one["by"], one["minutes"]) for one in kept] == [("minutes", 70.0)]
    assert not filled.contradicts
    other = desk.plot(desk.phone("+10005550177"))
    wrong = forms.fill(desk.operator, other.id, "myplot", {"laid_minutes": "5"}, desk.now)
    assert wrong.contradicts
    assert "measurements" not in desk.stored_plot(other.id).answers


def test_lines_that_are_counted_make_a_plot_that_lies(desk, forms, bare):
    typed = {
        **{name: PLAN[name] for name in ("crop", "weeks_since_planting", "stand_height_m")},
        "laid_lines": "12",
        "laid_line_length_m": "20",
        "tank_volume_l": "500",
    }
    filled = forms.fill(desk.officer, bare.id, "myplot", typed, desk.now)
    assert filled.plan is not None
    assert filled.plan.layouts[filled.plan.recommended].line_count == 12


def test_a_consent_is_no_form(desk, forms, bare):
    assert "reminders" not in forms.flows
    with pytest.raises(DeskRefused):
        forms.show(desk.operator, bare.id, "reminders", desk.now)


def test_an_officer_of_another_district_fills_nothing(desk, forms, bound_officer):
    plot = desk.plot(desk.phone())
    with pytest.raises(NotYours):
        forms.fill(bound_officer, plot.id, "plan", PLAN, desk.now)
