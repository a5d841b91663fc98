"""Crops as told: a plot grows older between two calls, and may carry several crops by line."""

from datetime import date, timedelta

import pytest

from service.advice.crops_told import (
    all_lines,
    beside_crops,
    crop_fields,
    free_lines,
    planted_on,
    with_other_crop,
)

TOLD = date(2026, 10, 1)
LAID = {"laid": "told", "laid_lines": 12, "crop": "tomato", "weeks_since_planting": 3}
ONION = {"crop": "onion", "lines": 4, "planted": "2026-09-01"}


@pytest.mark.parametrize("days", [0, 7, 60])
def test_the_day_of_planting_stays_while_the_weeks_go_by(days):
    answers = {**LAID, "weeks_told_on": TOLD.isoformat()}
    assert planted_on(answers, TOLD + timedelta(days=days)) == date(2026, 9, 10)


def test_a_day_that_went_back_plants_nothing_in_the_future():
    answers = {**LAID, "weeks_since_planting": 0, "weeks_told_on": TOLD.isoformat()}
    assert planted_on(answers, TOLD - timedelta(days=2)) == TOLD - timedelta(days=2)


def test_nobody_told_is_not_today():
    assert planted_on({"weeks_since_planting": ""}, TOLD) is None


def test_one_crop_has_all_lines():
    assert crop_fields(LAID, TOLD) == {"crop": "tomato", "planting_date": "2026-09-10"}


def test_the_main_crop_keeps_the_lines_that_no_other_has():
    fields = crop_fields({**LAID, "more_crops": [ONION]}, TOLD)
    assert [(one["crop"], one["lines"]) for one in fields["crops"]] == [("tomato", 8), ("onion", 4)]
    assert fields["crops"][1]["planting_date"] == "2026-09-01"


def test_a_plot_told_anew_with_fewer_lines_forgets_the_others():
    fields = crop_fields({**LAID, "laid_lines": 4, "more_crops": [ONION]}, TOLD)
    assert fields["crop"] == "tomato"


def test_lines_of_a_planned_plot_are_those_of_its_layout():
    planned = {**LAID, "laid": {"line_count": 20}, "more_crops": [ONION]}
    assert (all_lines(planned), free_lines(planned)) == (20, 16)
    assert all_lines({"laid": "no", "laid_lines": 12}) == 0


def test_another_crop_is_kept_with_its_day():
    answers = {**LAID, "other_crop": "kale", "other_lines": 2, "other_weeks": 2}
    kept = with_other_crop({**answers, "more_crops": [ONION]}, TOLD)
    assert kept == [ONION, {"crop": "kale", "lines": 2, "planted": "2026-09-17"}]
    assert len(beside_crops({"more_crops": kept})) == 2
