"""The invented valley loads whole, is marked invented, and can be planned."""

import datetime
import importlib.resources
import json

import pytest

import service.scenario
from service.sizing.card import read_card
from service.sizing.climate import read_districts
from service.sizing.tables import standard_tables
from service.sizing.watering import Case, water_need

FOLDER = importlib.resources.files(service.scenario)
DISTRICTS = read_districts((FOLDER / "districts.csv").read_text(encoding="utf-8"), "districts.csv")
PLOTS = json.loads((FOLDER / "plots.json").read_text(encoding="utf-8"))
TABLES = standard_tables().with_districts(DISTRICTS)


def test_three_districts_by_three_ways_to_eto():
    methods = {d.name: {month.method for month in d.eto} for d in DISTRICTS.values()}
    assert methods == {"Velmora": {"eq. 6"}, "Aruneth": {"eq. 52"}, "Kotsindo": {"given"}}


def test_everything_is_marked_invented():
    assert "invented" in service.scenario.__doc__
    for district in DISTRICTS.values():
        assert district.source.startswith("invented")
    assert all(plot["invented"] is True for plot in PLOTS)


def test_the_climate_raises_no_doubt():
    assert [warning for d in DISTRICTS.values() for warning in d.warnings] == []


def test_a_dozen_plots_with_their_own_ids():
    assert len({plot["id"] for plot in PLOTS}) == len(PLOTS) == 12


@pytest.mark.parametrize("plot", PLOTS, ids=lambda plot: plot["id"])
def test_each_plot_can_be_read_and_watered(plot):
    card = read_card(plot["card"])
    today = datetime.date(2026, 11, 25)
    need = water_need(
        Case(
            TABLES.crop(card.crop),
            TABLES.soil(card.soil),
            TABLES.district(card.district).climate,
            card.plot.length_m * card.plot.width_m,
            0.85,
            card.planting_date or today,
        ),
        today,
    )
    assert need.peak.gross_l_day > 0
    assert "season_over" not in {warning.code for warning in need.warnings}
