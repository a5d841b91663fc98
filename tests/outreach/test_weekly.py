"""The weekly text: right numbers, right tasks, two parts at most, in every language there is."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.advice import Context, rounding
from service.advice.registry import registry
from service.advice.upkeep_words import task_name
from service.outreach.plot_week import due_this_week, need_of, plot_week
from service.outreach.weekly import weekly_text
from service.records import Plot
from service.sizing.upkeep import TASKS, every_days
from service.text.catalogues import Catalogues
from service.text.languages import LANGUAGES
from service.text.measure import measure

DAY = date(2026, 11, 23)
"""A Monday in ISO week 48, in which how to stop is told."""
PLAIN = date(2026, 11, 30)
"""A Monday in week 49, in which it is not."""
LONG_AGO = date(2026, 9, 28)


@pytest.fixture
def text(
    catalogues: Catalogues, context_on: Callable[[date], Context], laid: dict[str, object]
) -> Callable[..., str]:
    """The weekly text of the plot that lies, some answers changed."""

    def text(
        day: date = PLAIN, language: str = "en", since: date = LONG_AGO, name: str = "", **told: Any
    ) -> str:
        known = datetime.combine(since, datetime.min.time(), UTC)
        answers = {name: value for name, value in {**laid, **told}.items() if value is not None}
        plot = Plot("p", "f", known, known, name=name, answers=answers)
        weekly = weekly_text(plot, context_on(day), catalogues.translate, language, since)
        return weekly.text or weekly.left_out

    return text


@pytest.fixture
def valve(
    catalogues: Catalogues, context_on: Callable[[date], Context], laid: dict[str, object]
) -> str:
    """What the water conversation says first of this plot on this day."""
    shown = registry().shows["water_today"](laid, context_on(PLAIN))
    return catalogues.translate(shown[0], "en")


def test_this_week_of_a_plot_in_the_words_of_the_water_conversation(
    text: Callable[..., str], valve: str
) -> None:
    told = text(upkeep_filter_done="2026-11-29", upkeep_walk_done="2026-11-28")
    assert valve.startswith("Valve open about ")
    assert told == (
        f"Water each day, week from 30 Nov. {valve} Still wet below? Give less. "
        "Due this week: flush the line ends, tank and stand."
    )


def test_the_figures_of_a_seasonal_message_are_those_of_the_text(
    text: Callable[..., str], context_on: Callable[[date], Context], laid: dict[str, object]
) -> None:
    week = plot_week(laid, context_on(PLAIN))
    assert week is not None
    litres, minutes, fills = need_of(week.needs())
    assert minutes is not None
    assert fills is not None
    assert f"about {round(minutes / 30) / 2:g} hours: {rounding.fills(fills).value:.1f} x" in text()
    assert fills == pytest.approx(litres / week.main.layout.delivered_litres)


def test_a_report_of_this_morning_says_nothing_of_the_week(text: Callable[..., str]) -> None:
    assert text(soil_feel="hand", tanks_today=2, rain_fallen_m=0.05) == text()


def test_the_name_of_a_plot(text: Callable[..., str]) -> None:
    assert text(name="River plot").startswith("River plot, water each day, week from 30 Nov.")


# --- upkeep ---------------------------------------------------------------------------------------


def test_what_was_done_is_not_named(text: Callable[..., str]) -> None:
    done = {f"upkeep_{task}_done": "2026-11-30" for task in TASKS}
    assert "Due this week" not in text(**done)


def test_what_was_done_long_ago_is_named_every_week(text: Callable[..., str]) -> None:
    done = {f"upkeep_{task}_done": "2026-11-29" for task in TASKS}
    for week in range(5):
        told = text(PLAIN + timedelta(days=7 * week), **{**done, "upkeep_tank_done": "2026-09-01"})
        assert "tank and stand" in told


@given(st.integers(0, 60), st.sampled_from(["", "brown", "crust"]), st.booleans())
def test_of_what_nobody_reports_each_round_is_named_once(
    offset: int, sign: str, open_water: bool
) -> None:
    """Over a year of weekly texts a task is named as often as it comes round, one more or less."""
    since = LONG_AGO
    answers = {"water_sign": sign, "water_source": "open" if open_water else "clear"}
    mondays = [since + timedelta(days=offset + 7 * week) for week in range(52)]
    named = [due_this_week(answers, monday, since) for monday in mondays]
    for task in TASKS:
        every = every_days(task, sign, open_water=open_water)
        count = sum(task in tasks for tasks in named)
        expected = 52 if every <= 7 else 52 * 7 / every
        assert abs(count - expected) <= 1, (task, every, count)


def test_muddy_water_wants_its_filter_rinsed_every_day(text: Callable[..., str]) -> None:
    told = {"water_source": "open", "water_sign": "cloudy"}
    # Done on Sunday, due again today; done this morning, not before tomorrow.
    assert "filter" in text(**told, upkeep_filter_done="2026-11-29")
    assert "filter" not in text(**told, upkeep_filter_done="2026-11-30")


# --- stages and seasons ----------------------------------------------------------------------

TOMATO = 135
"""Days of tomato in our table of crops: FAO-56 Table 11."""


def planted(days_ago: int, day: date = PLAIN) -> dict[str, Any]:
    """Answers of a crop planted so many days before a day."""
    return {
        "weeks_since_planting": 0,
        "weeks_told_on": (day - timedelta(days=days_ago)).isoformat(),
    }


def stage_words(text: Callable[..., str], days_ago: int) -> str:
    told = text(**planted(days_ago))
    found = [
        name
        for name, words in {
            "initial": "Just planted",
            "development": "grow fast",
            "mid": "Full grown",
            "late": "ripens",
            "ends": "The crop ends about",
        }.items()
        if words in told
    ]
    return " ".join(found)


def test_each_stage_is_told_once_when_it_begins(text: Callable[..., str]) -> None:
    weeks = [stage_words(text, 7 * week + 2) for week in range(19)]
    told = [words for words in weeks if words]
    assert told == ["initial", "development", "mid", "late", "ends"]


def test_the_last_week_names_the_day(text: Callable[..., str]) -> None:
    # Day 1 is the day of planting, so that day 135 is 134 days after it.
    told = text(**planted(TOMATO - 1 - 3))
    assert "The crop ends about 3 Dec. Then flush, lift and store the lines." in told


def test_the_week_after_the_crop(text: Callable[..., str]) -> None:
    told = text(**planted(TOMATO + 1))
    assert told == (
        "Your drip plot, 30 Nov. The crop is over: no water now. "
        "Flush all lines, lift them, store them in the shade: menu, Season."
    )


def test_acid_is_never_told_only_whom_to_ask(text: Callable[..., str]) -> None:
    told = text(**planted(TOMATO + 1), water_sign="crust")
    assert "White crust on drippers? Ask the helpline before lifting them." in told
    for days in range(0, 200, 3):
        said = text(**planted(days), water_sign="crust", treatment_released="2026-11-30").lower()
        assert not any(word in said for word in ("acid", "chlor", "bleach", " ml", "dose"))


def test_storing_relaying_and_then_silence(text: Callable[..., str]) -> None:
    after = [text(**planted(TOMATO + 1 + 7 * week)) for week in range(8)]
    assert "Lines lifted, in the shade" in after[1]
    assert "Planting again?" in after[3]
    assert after[2] == "nothing_to_say"
    assert set(after[4:]) == {"nothing_to_say"}


def test_lines_that_were_put_away_are_not_asked_about(text: Callable[..., str]) -> None:
    assert text(**planted(TOMATO + 8), season_step="small") == "nothing_to_say"
    stopped = text(**planted(TOMATO + 8), season_step="drain")
    assert "You stopped here: emptying tank and lines." in stopped


def test_a_crop_that_stays_has_no_end(text: Callable[..., str]) -> None:
    for weeks in range(0, 120, 10):
        told = text(crop="citrus", **planted(7 * weeks))
        assert told.startswith("Water each day")
        assert "The crop ends" not in told


SLOW = {"stand_height_m": 0.2, "rise_along_length_m": 2, "rise_along_width_m": 1}
"""Nearly all of the plot lies above the tank: a day's water takes two weeks."""


def test_hours_that_no_day_has_are_not_told(text: Callable[..., str]) -> None:
    assert "Here a day is too short to give a day's water: ring the helpline." in text(**SLOW)


# --- who gets none --------------------------------------------------------------------------------


def test_a_plot_that_is_only_thought_of(text: Callable[..., str]) -> None:
    told = text(laid=None, plot_length_m=20, plot_width_m=10, weeks_since_planting=0)
    assert told == "not_in_use"


def test_a_plot_of_which_too_little_is_known(text: Callable[..., str]) -> None:
    assert text(laid=None, weeks_since_planting=4) == "no_plan"


def test_a_plot_that_lies_with_no_crop_known_hears_what_is_due(text: Callable[..., str]) -> None:
    told = text(crop=None, upkeep_filter_done="2026-11-20")
    assert told.startswith("Your drip plot, 30 Nov. Due this week: filter")


def test_a_district_that_is_no_longer_loaded(text: Callable[..., str]) -> None:
    assert text(district="gone").startswith("Your drip plot, 30 Nov.")


# --- how to stop ----------------------------------------------------------------------------------

STOP = "To stop these texts send STOP."


def test_how_to_stop_is_told_at_first_and_then_every_four_weeks(text: Callable[..., str]) -> None:
    mondays = [LONG_AGO + timedelta(days=7 * week) for week in range(12)]
    told = [STOP in text(monday) for monday in mondays]
    # 28 September 2026 begins week 40.
    assert told == [week < 2 or (40 + week) % 4 == 0 for week in range(12)]


# --- rain -----------------------------------------------------------------------------------------


def test_rain_that_was_reported_lets_the_plot_rest_first(
    catalogues: Catalogues,
    context_on: Callable[[date], Context],
    laid: dict[str, object],
    valve: str,
) -> None:
    wet = replace(context_on(PLAIN), rain=lambda district, since: {PLAIN: 60.0})
    known = datetime(2026, 9, 28, tzinfo=UTC)
    plot = Plot("p", "f", known, known, answers=laid)
    told = weekly_text(plot, wet, catalogues.translate, "en", LONG_AGO).text
    assert "days: the soil holds enough. Then dig and feel again." in told
    assert valve in told


# --- every kind, every language --------------------------------------------------------------

KINDS: dict[str, dict[str, Any]] = {
    "new": {**planted(2, DAY)},
    "growing": {**planted(35, DAY)},
    "full": {**planted(72, DAY)},
    "ripening": {**planted(107, DAY)},
    "ending": {**planted(TOMATO - 3, DAY)},
    "over": {**planted(TOMATO + 1, DAY), "water_sign": "crust"},
    "store": {**planted(TOMATO + 8, DAY), "season_step": "drain"},
    "relay": {**planted(TOMATO + 22, DAY)},
    "unknown crop": {"crop": None},
    "stays": {"crop": "banana_grown", **planted(400, DAY)},
    "two crops": {
        "more_crops": [{"crop": "onion", "lines": 4, "planted": "2026-10-12"}],
        **planted(50, DAY),
    },
    "slow": {**SLOW, **planted(40, DAY)},
}


@pytest.mark.parametrize(("kind", "language"), [*itertools.product(KINDS, LANGUAGES)])
def test_two_parts_with_its_date_in_every_language(
    text: Callable[..., str], kind: str, language: str
) -> None:
    for name in ("", "The plot behind the school"):
        told = text(DAY, language, DAY, name, **KINDS[kind])
        size = measure(told)
        assert size.parts <= 2, told
        assert "23" in told
        if LANGUAGES[language].gsm7:
            assert size.encoding == "gsm7", told
        if kind not in ("over", "store", "relay", "unknown crop", "slow"):
            assert any(figure.isdigit() for figure in told.split("23", 1)[1])


@pytest.mark.parametrize("language", LANGUAGES)
def test_tasks_are_named_in_every_language(
    text: Callable[..., str], catalogues: Catalogues, language: str
) -> None:
    done = {f"upkeep_{task}_done": "2026-11-30" for task in TASKS if task != "lines"}
    told = text(PLAIN, language, **done, upkeep_lines_done="2026-10-01")
    assert catalogues.translate(task_name("lines"), language) in told
