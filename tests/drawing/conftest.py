"""Plans to draw: real hydraulics, parts and invented water, for cards of several shapes."""

from importlib import resources

import pytest

from service.sizing import parts, result
from service.sizing.card import read_card
from service.sizing.geometry import network_of
from service.sizing.pipes import read_pipes
from service.sizing.sized import candidate

CARDS = {
    "corner": {
        "plot": {"length_m": 20, "width_m": 20},
        "tank": {"volume_l": 500},
        "stand_height_m": 2.5,
    },
    "two_blocks": {
        "plot": {"length_m": 40, "width_m": 20},
        "tank": {"volume_l": 1000},
        "stand_height_m": 2,
        "layout": {"tank_position": "mid_side", "lines_run": "length", "blocks": 2},
    },
    "small": {
        "plot": {"length_m": 7, "width_m": 5},
        "tank": {"volume_l": 100},
        "stand_height_m": 1,
        "line_spacing_m": 0.6,
        "filter": False,
    },
    "big": {
        "plot": {"length_m": 100, "width_m": 60, "slope_width_pct": -0.5, "slope_length_pct": 1},
        "tank": {"volume_l": 5000},
        "stand_height_m": 3,
        "submain": {"inner_diameter_mm": 44.2},
        "layout": {"tank_position": "mid_side", "lines_run": "width", "blocks": 4},
    },
    "tall": {
        "plot": {"length_m": 15, "width_m": 30},
        "tank": {"volume_l": 1000},
        "stand_height_m": 2,
        "layout": {"tank_position": "corner", "lines_run": "length"},
    },
    "starving": {
        "plot": {"length_m": 40, "width_m": 20},
        "tank": {"volume_l": 1000},
        "stand_height_m": 2,
        "submain": {"inner_diameter_mm": 13.6},
        "layout": {"tank_position": "corner", "lines_run": "length"},
    },
}


def month(number, stage, litres):
    """A month of invented water."""
    return result.WateringMonth(
        year=2027,
        month=number,
        stage=stage,
        eto_mm_day=5,
        kc=0.8,
        rain_mm_day=1,
        net_mm_day=3,
        gross_l_day=litres,
        fills_per_day=litres / 450,
        minutes_per_day=litres / 4 if litres else None,
    )


WATERING = (
    month(2, "none", 0),
    month(3, "initial", 400),
    month(4, "development", 812),
    month(5, "mid", 1234),
    month(6, "late", 900),
)


@pytest.fixture(scope="session")
def pipes():
    """The pipe sizes of the package."""
    text = resources.files("service.sizing").joinpath("data", "pipes.csv").read_text("utf-8")
    return read_pipes(text, "pipes.csv")


@pytest.fixture(scope="session")
def prices():
    """The invented prices."""
    text = resources.files("service.scenario").joinpath("prices.csv").read_text("utf-8")
    return parts.read_prices(text, "prices.csv")


@pytest.fixture(scope="session")
def drawn_card():
    """A card by its name."""
    return lambda name: read_card(CARDS[name])


@pytest.fixture(scope="session")
def plan_of(pipes, prices):
    """The plan of a card, laid as the card fixes it, else from a corner in one block."""

    def plan(card, with_emitters=True):
        fixed = card.layout
        network = network_of(
            card,
            fixed.tank_position or "corner",
            fixed.lines_run or "length",
            (card.submain.inner_diameter_mm or 21.8) / 1000,
        )
        layout = candidate(card, network, fixed.blocks or 1).layout(None, with_emitters)
        return result.Plan(
            layouts=(layout,),
            recommended=0,
            parts=parts.parts_list(card, layout, pipes, prices),
            watering=WATERING,
            peak_month=5,
            now_month=3,
        )

    return plan
