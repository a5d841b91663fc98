"""Tables and cards for the tests of advice."""

from datetime import date

import pytest

from service.sizing.card import read_card
from service.sizing.tables import standard_tables

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="session")
def tables():
    return standard_tables()


@pytest.fixture
def card():
    """Make a card of 20 m by 20 m, tomato, 500 L on a 2.5 m stand, some fields changed."""

    def card(**changes):
        raw = {
            "plot": {"length_m": 20, "width_m": 20},
            "tank": {"volume_l": 500},
            "stand_height_m": 2.5,
            "crop": "tomato",
            "climate": {"eto_mm_day": 5},
            "planting_date": "2026-10-01",
        }
        return read_card({**raw, **changes})

    return card
