"""A paper form: its fields, its quick entry, the measurements on it."""

from __future__ import annotations

from typing import Any

import pytest

from service.desk.handover import Cups, Entry, Handovers
from service.desk.refusals import DeskRefused, NotYours
from service.sizing.calibration import Calibration, Contradiction

TYPED = {
    "district": "kotsindo",
    "laid_lines": "15",
    "laid_line_length_m": "20",
    "crop": "1",
    "weeks_since_planting": "5",
    "tank_volume_l": "500",
    "stand_height_m": "1.5",
    "soil": "2",
}
NUMBER = "0712 345 678"


@pytest.fixture
def handovers(desk: Any) -> Handovers:
    return Handovers(desk.office, desk.dialogue, desk.speech, desk.context_for, "KE")


def enter(handovers: Handovers, desk: Any, **more: Any) -> Any:
    typed = {**TYPED, **more.pop("typed", {})}
    entry = Entry(NUMBER, more.pop("name", "Amina"), typed, **more)
    return handovers.enter(desk.officer, entry, desk.now)


def test_the_form_asks_what_my_plot_asks_and_some_of_the_plan_once_each(desk, handovers):
    names = [field.name for field in handovers.fields(desk.officer, desk.now)]
    assert len(names) == len(set(names))
    assert set(TYPED) | {"laid_minutes", "main_pipe", "supply_fill"} <= set(names)
    assert "plot_length_m" not in names


def test_one_form_keeps_phone_person_plot_and_consent(desk, handovers):
    done = enter(handovers, desk, consent=True, groups=("women",), plot_name="hill", language="sw")
    assert done.problems == {}
    (found,) = desk.callers.by_number(desk.officer, "0712345678", desk.now)
    view = desk.callers.see(desk.officer, found.phone_id, desk.now)
    assert view.phone.language == "sw"
    assert [(one.name, one.groups) for one in view.people] == [("Amina", ("women",))]
    (plot,) = view.plots
    assert (plot.name, plot.answers["laid"], plot.answers["soil"]) == ("hill", "told", "loam")
    assert view.consents[0].given
    assert desk.actions()[-3] == "plot.enrolled"


def test_minutes_calibrate_the_plot_as_the_callers_own_do(desk, handovers):
    # conftest of tests/flows: a full tank of this plot takes about 64 minutes.
    done = enter(handovers, desk, typed={"laid_minutes": "70"})
    (found,) = done.found
    assert isinstance(found, Calibration)
    card = desk.context_for(desk.now).card(done.plot.answers)
    assert card.dripline.calibration == pytest.approx(found.factor, abs=1e-4)
    assert found.factor < 1


def test_minutes_that_contradict_are_told_and_not_kept(desk, handovers):
    done = enter(handovers, desk, typed={"laid_minutes": "5"})
    assert [type(one) for one in done.found] == [Contradiction]
    assert "measurements" not in done.plot.answers


def test_a_cup_test_is_kept_with_its_evenness(desk, handovers):
    cups = Cups([[48, 48, 48, 48]] * 4)
    done = enter(handovers, desk, cups=cups)
    (record,) = done.plot.answers["measurements"]
    assert (record["by"], record["du_pct"]) == ("cups", 100.0)
    assert all(isinstance(one, Calibration) for one in done.found)
    assert not any(name.startswith("check_") for name in done.plot.answers)


def test_cups_that_fit_no_sampling_of_the_plot_are_refused_with_those_that_do(desk, handovers):
    with pytest.raises(DeskRefused, match=r"16: 4\+4\+4\+4"):
        enter(handovers, desk, cups=Cups([[48, 48, 48]]))
    with desk.unit_of_work() as work:
        assert work.phones.find("+254712345678") is None


def test_a_form_with_gaps_or_slips_tells_each_and_keeps_nothing(desk, handovers):
    done = enter(handovers, desk, typed={"laid_lines": "", "tank_volume_l": "big"})
    assert done.plot is None
    assert set(done.problems) == {"laid_lines", "tank_volume_l"}
    with desk.unit_of_work() as work:
        assert work.phones.find("+254712345678") is None


def test_a_second_form_of_a_plot_is_its_handover_record(desk, handovers):
    plot = enter(handovers, desk, typed={"laid_minutes": "70"}).plot
    desk.later(days=30)
    done = enter(
        handovers, desk, plot_id=plot.id, typed={"tank_volume_l": "500"}, cups=Cups([[40] * 4] * 4)
    )
    assert done.plot.id == plot.id
    records = [(one["by"], one["day"]) for one in done.plot.answers["measurements"]]
    assert records == [("minutes", "2026-11-25"), ("cups", "2026-12-25")]
    assert done.plot.answers["laid_minutes"] == 70


def test_another_farmer_on_the_same_phone_leaves_the_current_plot(desk, handovers):
    first = enter(handovers, desk).plot
    second = enter(handovers, desk, name="Musa", plot_name="river").plot
    assert (first.phone_id, first.current) == (second.phone_id, True)
    assert not second.current


def test_a_foreign_district_and_a_wrong_number_are_refused(desk, handovers, bound_officer):
    with pytest.raises(NotYours):
        handovers.enter(bound_officer, Entry(NUMBER, "Amina", TYPED), desk.now)
    with pytest.raises(DeskRefused, match="no phone number"):
        handovers.enter(desk.officer, Entry("12", "Amina", TYPED), desk.now)
