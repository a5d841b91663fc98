"""The conversation on feeding through the tank: cautions first, then amount, order and rinse."""

import re

import pytest

from service.dialogue import Place
from service.text.measure import measure
from service.text.render import one_text, render

TO_FEED = ("1", "7")
NEW = ("1", "kot", "1", "7")
WAY = ("1", "1", "1", "1", "1", "1")
"""From the amount through jar, bucket, moment, rinse and never to the salt."""


@pytest.fixture
def ask(hold, planted, catalogues):
    def ask(*answers, **changes):
        outcome = hold(*TO_FEED, *answers, known={**planted, **changes})
        return one_text(outcome.screen, "en", catalogues)

    return ask


def test_cautions_stand_before_everything(ask):
    words = ask()
    assert words.startswith("Wear gloves.")
    assert all(word in words for word in ("children", "wells", "drinks"))


def test_a_weeks_urea_on_the_plot_by_hand(ask):
    """8 weeks of tomato, 400 m²: 0.7 / 0.46 x 400 = 609 g, three feeds of 1 g/L in half a tank."""
    words = ask("1", "urea")
    assert words.startswith("Urea, this week on 3 days: about 200 g each (")
    assert "18 x a level spoon" in words


def test_young_plants_get_half(ask):
    assert "about 150 g each" in ask("1", "urea", weeks_since_planting=1)


def test_one_feed_is_said_once(ask):
    assert ask("1", "map").startswith("MAP 12-61, this week once: about 160 g")


def test_the_bag_is_asked_for_when_only_it_knows(ask):
    assert "Send the biggest" in ask("1", "npk")
    assert "More is not safe in one week." in ask("1", "npk", "19")
    assert "Send a number from 3 to 60" in ask("1", "npk", "95")


def test_a_salty_fertiliser_is_given_weaker(ask):
    assert "Not stronger: salty for this crop." in ask("1", "potassium nitrate")


def test_what_is_not_on_the_list_is_not_dosed(ask):
    words = ask("1", "another")
    assert all(word in words for word in ("TSP", "SSP", "DAP", "manure", "compost"))
    assert not re.search(r"\d+ g", words)


def test_the_order_is_jar_bucket_moment_rinse_never_salt(ask):
    steps = [ask("1", "map", *WAY[:count]) for count in range(1, 7)]
    marks = [
        "jar test", "through a cloth", "When half has run", "Then rinse", "Never with calcium",
        "dS/m",
    ]  # fmt: skip
    for step, mark in zip(steps, marks, strict=True):
        assert mark in step


def test_the_bucket_is_not_carried_up_a_ladder(ask):
    assert "do not climb with a bucket" in ask("1", "urea", "1", "1")


def test_nothing_flows_back_into_a_well(ask):
    assert "Take any filling hose out" in ask("1", "urea", "1", "1", "1")


def test_the_rinse_fills_the_pipes_once(ask):
    """20 lines of 20 m of 13.6 mm and the main pipe: about 63 L, four buckets."""
    words = ask("1", "urea", "1", "1", "1", "1")
    assert "run 4 buckets of clean water" in words
    assert "Nobody drinks" in words


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("calcium nitrate", "Never with sulphate, MAP or NPK"),
        ("map", "Never with calcium nitrate"),
        ("ammonium sulphate", "Never with calcium nitrate"),
        ("potassium chloride", "Never the red kind"),
        ("urea", "Never two kinds at once"),
    ],
)
def test_what_must_not_meet_is_said_for_each(ask, name, words):
    said = ask("1", name, *WAY[:5])
    assert words in said
    assert "Never TSP, SSP, DAP, lime, manure or compost." in said
    assert "acid or chlorine" in said


def test_salt_is_told_against_the_crop(ask):
    assert "Tomato bears it" in ask("1", "map", *WAY)
    assert "almost no salt" in ask("1", "urea", *WAY)
    assert "Stop, give only water" in ask("1", "urea", *WAY)


def test_plants_stand_for_ground_where_no_plot_is_known(hold, catalogues):
    """250 tomatoes stand for 100 m²: 0.7 / 0.46 x 100 = 152 g, at 3 weeks half: 76 g."""
    outcome = hold(*NEW, "1", "urea", "tomato", "3", "500", "250")
    words = one_text(outcome.screen, "en", catalogues)
    assert "about 75 g" in words
    moment = hold(*NEW, "1", "urea", "tomato", "3", "500", "250", "1", "1", "1")
    assert "L of water in the tank" in one_text(moment.screen, "en", catalogues)
    rinse = hold(*NEW, "1", "urea", "tomato", "3", "500", "250", "1", "1", "1", "1")
    assert "clean water for 15 minutes" in one_text(rinse.screen, "en", catalogues)


@pytest.mark.parametrize("plants", ["0", "2.5", "50001"])
def test_a_number_of_plants_that_cannot_be_is_asked_again(hold, catalogues, plants):
    outcome = hold(*NEW, "1", "urea", "tomato", "3", "500", plants)
    assert outcome.conversation.state == "plants"


def test_a_crop_that_is_over_or_nearly_is_not_fed(ask):
    assert "The crop is over" in ask("1", "urea", weeks_since_planting=90)
    assert "last two weeks" in ask("1", "urea", weeks_since_planting=18)


def test_where_nothing_is_dosed_only_the_list_and_the_menu_follow(hold, planted):
    over = {**planted, "weeks_since_planting": 90}
    assert hold(*TO_FEED, "1", "urea", known=over).conversation.state == "no_feed"
    assert hold(*TO_FEED, "1", "urea", "1", known=over).conversation.state == "what"
    menu = hold(*TO_FEED, "1", "urea", "2", known=over).conversation.place
    assert menu == Place("start", "menu")


def test_each_step_takes_one_screen_in_english(hold, planted, catalogues):
    for name in ("urea", "map", "calcium nitrate", "potassium chloride", "potassium sulphate"):
        for count in range(7):
            screen = hold(*TO_FEED, "1", name, *WAY[:count], known=planted).screen
            assert len(render(screen, "en", catalogues)) == 1, (name, count)
            assert measure(render(screen, "en", catalogues)[0]).units <= 160


def test_a_crop_or_fertiliser_the_tables_lost_is_not_dosed(dialogue, context, catalogues):
    lost = [{"crop": "quinoa", "fertiliser": "urea", "feed_plants": 5}, {"fertiliser": "guano"}]
    for answers in lost:
        screen = dialogue.show(dialogue.place("en", "feed", "amount", answers), context)
        assert "plan the plot first" in one_text(screen, "en", catalogues)


def test_every_state_and_exit_is_walked(hold, planted, dialogue):
    flow = dialogue.book.flows["feed"]
    urea = (*TO_FEED, "1", "urea")
    steps = ("jar", "dissolve", "moment", "rinse", "never", "salt")
    known_ways = {
        "care": [TO_FEED],
        "what": [
            (*TO_FEED, "1"),
            (*TO_FEED, "1", "another", "1"),
            (*urea, "2"),
            (*urea, *WAY, "1"),
        ],
        "other": [(*TO_FEED, "1", "another")],
        "bag": [(*TO_FEED, "1", "npk")],
        "amount": [urea, (*TO_FEED, "1", "npk", "19")],
        **{step: [(*urea, *WAY[: place + 1])] for place, step in enumerate(steps)},
    }  # fmt: skip
    new = (*NEW, "1", "urea")
    new_ways = {
        "crop": [new],
        "weeks": [(*new, "okra")],
        "tank": [(*new, "okra", "3")],
        "plants": [(*new, "okra", "3", "200")],
        "amount": [(*new, "okra", "3", "200", "100")],
        "no_feed": [(*new, "okra", "100", "200", "100")],
    }
    seen = {name for name, state in flow.states.items() if state.kind != "branch"}
    assert {*known_ways, *new_ways} == seen
    for ways, known in ((known_ways, planted), (new_ways, None)):
        for name, each in ways.items():
            for way in each:
                place = hold(*way, known=known).conversation.place
                assert place == Place("feed", name), way
    for way in ((*urea, *WAY, "2"), (*TO_FEED, "1", "another", "2")):
        assert hold(*way, known=planted).conversation.place == Place("start", "menu")


def test_weeks_are_asked_of_a_caller_whose_crop_but_no_plot_is_known(hold):
    known = {"district": "kotsindo", "crop": "okra", "tank_volume_l": 200.0}
    assert hold(*TO_FEED, "1", "urea", known=known).conversation.state == "weeks"
    assert hold(*TO_FEED, "1", "urea", "3", known=known).conversation.state == "plants"
