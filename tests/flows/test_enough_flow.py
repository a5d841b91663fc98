"""The conversation on how far water goes."""

import re

import pytest

from service.dialogue import Place
from service.text.measure import measure
from service.text.render import one_text, render

TO_ENOUGH = ("1", "Is the water enough?")
NEW = ("1", "kot", "1", "Is the water enough?")
"""A caller of whom only the district is known."""


@pytest.fixture
def ask(hold, planted, catalogues):
    def ask(*answers, **changes):
        outcome = hold(*TO_ENOUGH, *answers, known={**planted, **changes})
        return one_text(outcome.screen, "en", catalogues)

    return ask


def area(words):
    return float(re.search(r"keep about ([\d.]+) m2", words)[1])


def test_buckets_keep_so_much_land_at_the_peak(ask):
    words = ask("1", "25")
    assert words.startswith("Tomato: 500 L a day (25 buckets) keep about ")
    assert "at the peak (" in words
    assert "Your plot has 400 m2: full water for" in words


def test_land_grows_with_the_water(ask):
    assert area(ask("1", "50")) == pytest.approx(2 * area(ask("1", "25")), rel=0.1)


def test_a_season_that_is_over_counts_as_planted_anew(ask):
    assert ask("1", "25", weeks_since_planting=90) == ask("1", "25", weeks_since_planting=0)


def test_litres_and_drums_are_understood_as_well(ask):
    assert "500 L a day (25 buckets)" in ask("1", "500 l")
    assert "400 L a day (20 buckets)" in ask("1", "2 drums")


def test_a_pump_is_timed_with_a_bucket(ask):
    """20 L in 40 s are 1800 L an hour; two hours a day 3600 L."""
    words = ask("2", "1", "40", "2")
    assert words.startswith("Tomato: 3600 L a day (180 buckets)")
    assert "Enough for your plot" in words


def test_the_pump_is_asked_for_after_its_caution(ask):
    assert ask("2").startswith("Engine smoke kills")


def test_tanks_a_day_use_the_tank_that_is_known(ask):
    assert ask("3", "3").startswith("Tomato: 1500 L a day")


def test_only_what_is_missing_is_asked(hold, catalogues):
    outcome = hold(*NEW, "3", "200", "2", "kale")
    words = one_text(outcome.screen, "en", catalogues)
    assert words.startswith("Kale: 400 L a day (20 buckets) keep about")
    assert re.search(r"That is ([\d.]+) m by \1 m\.", words)


def test_a_square_is_no_larger_than_the_land(hold, catalogues):
    words = one_text(hold(*NEW, "1", "25", "kale").screen, "en", catalogues)
    side = float(re.search(r"That is ([\d.]+) m", words)[1])
    assert area(words) / 1.3 <= side**2 <= area(words)


def test_too_little_for_one_line_is_said(ask):
    assert "not enough for one line" in ask("1", "3")


def test_three_other_crops_are_named(ask):
    words = ask("1", "25", "1")
    assert words.startswith("The same water keeps at the peak, about:")
    assert len(re.findall(r": [\d.]+ m2 \(", words)) == 3
    assert "Tomato" not in words


@pytest.mark.parametrize(
    ("crop", "words"),
    [
        ("tomato", "until fruits have their size"),
        ("green_bean", "until the pods are full"),
        ("maize", "the silk shows"),
        ("onion", "while the bulbs swell"),
        ("potato", "while the roots swell"),
        ("cabbage", "while the heads form"),
        ("kale", "Leaves suffer at once"),
        ("cotton", "to the end of flowering"),
        ("banana_grown", "no week can go short"),
        ("mango", "Save after picking"),
    ],
)
def test_the_weeks_to_protect_are_told_by_crop(ask, crop, words):
    said = ask("1", "25", "2", crop=crop)
    assert words in said
    assert "Keep seedlings wet" in said


def test_less_than_half_of_the_need_means_less_land(ask):
    assert ask("1", "25", "2").startswith("Less than half of the need: plant only")


def test_a_small_shortage_of_a_hardy_crop_is_shared(ask):
    """Groundnut, Ky 0.70."""
    kept = area(ask("1", "100", crop="groundnut"))
    litres = 0.7 * 400 / kept * 2000
    words = ask("1", f"{litres:.0f} l", "2", crop="groundnut")
    assert words.startswith("Share the water over all of the plot")


def test_a_shortage_of_a_sensitive_crop_means_less_land(ask):
    """Banana, Ky up to 1.35."""
    kept = area(ask("1", "100", crop="banana_grown"))
    litres = 0.7 * 400 / kept * 2000
    words = ask("1", f"{litres:.0f} l", "2", crop="banana_grown")
    assert "surer: plant less" in words


def test_without_a_yield_factor_part_of_the_land_is_watered_well(ask):
    kept = area(ask("1", "100", crop="kale"))
    litres = 0.7 * 400 / kept * 2000
    words = ask("1", f"{litres:.0f} l", "2", crop="kale")
    assert words.startswith("Better water")


def test_enough_water_needs_no_sharing(ask):
    assert ask("1", "400", "2").startswith("Keep seedlings")


@pytest.mark.parametrize("litres", ["0", "1001", "lots"])
def test_what_nobody_carries_is_asked_again(ask, litres):
    assert "Send buckets from 1 to 1000" in ask("1", litres)


def test_land_takes_one_screen_in_english(hold, planted, catalogues):
    for way in (("1", "25"), ("2", "1", "40", "2"), ("3", "2")):
        (page,) = render(hold(*TO_ENOUGH, *way, known=planted).screen, "en", catalogues)
        assert measure(page).units <= 160
    (page,) = render(hold(*NEW, "1", "25", "watermelon").screen, "en", catalogues)
    assert measure(page).units <= 160


def test_a_crop_the_tables_lost_sends_back_to_the_plan(dialogue, context, catalogues):
    lost = {"crop": "quinoa", "water_from": "buckets", "brought_l_day": 100}
    for state in ("land", "others", "short"):
        screen = dialogue.show(dialogue.place("en", "enough", state, lost), context)
        assert "plan the plot first" in one_text(screen, "en", catalogues)


def test_every_state_and_exit_is_walked(hold, planted, dialogue):
    flow = dialogue.book.flows["enough"]
    known_ways = {
        "how": [TO_ENOUGH],
        "buckets": [(*TO_ENOUGH, "1")],
        "pump_care": [(*TO_ENOUGH, "2")],
        "pump_speed": [(*TO_ENOUGH, "2", "1")],
        "pump_hours": [(*TO_ENOUGH, "2", "1", "40")],
        "tanks": [(*TO_ENOUGH, "3")],
        "land": [
            (*TO_ENOUGH, "1", "25"), (*TO_ENOUGH, "2", "1", "40", "2"), (*TO_ENOUGH, "3", "2"),
        ],
        "others": [(*TO_ENOUGH, "1", "25", "1"), (*TO_ENOUGH, "1", "25", "2", "1")],
        "short": [(*TO_ENOUGH, "1", "25", "2"), (*TO_ENOUGH, "1", "25", "1", "1")],
    }  # fmt: skip
    new_ways = {
        "tank": [(*NEW, "3")],
        "tanks": [(*NEW, "3", "200")],
        "crop": [(*NEW, "1", "25"), (*NEW, "2", "1", "40", "2"), (*NEW, "3", "200", "2")],
        "land": [(*NEW, "1", "25", "okra")],
    }
    seen = {name for name, state in flow.states.items() if state.kind != "branch"}
    assert {*known_ways, *new_ways} == seen
    for ways, known in ((known_ways, planted), (new_ways, None)):
        for name, each in ways.items():
            for way in each:
                place = hold(*way, known=known).conversation.place
                assert place == Place("enough", name), way
    for way in (("1", "25", "1", "2"), ("1", "25", "2", "2")):
        assert hold(*TO_ENOUGH, *way, known=planted).conversation.place == Place("start", "menu")
