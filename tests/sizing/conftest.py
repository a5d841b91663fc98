"""What the tests of hydraulics share: pipe table, reference vectors, EPANET's engine, plots."""

import copy
import csv
import importlib.util
import random
from pathlib import Path

import pytest

from service.sizing import pipes as pipe_table
from service.sizing.card import read_card

DATA = Path(__file__).parent.parent / "data"
PIPES_CSV = Path(pipe_table.__file__).parent / "data" / "pipes.csv"


@pytest.fixture(scope="session")
def pipes():
    """The pipe sizes of the package."""
    return pipe_table.read_pipes(PIPES_CSV.read_text(encoding="utf-8"), PIPES_CSV.name)


@pytest.fixture(scope="session")
def vectors():
    """Rows of a file of reference figures, by its name."""

    def read(name):
        with (DATA / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    return read


@pytest.fixture(scope="session")
def epanet_plot():
    """The class that rebuilds a card in EPANET's engine."""
    path = Path(__file__).with_name("epanet_model.py")
    spec = importlib.util.spec_from_file_location("epanet_model", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.EpanetPlot


BARE = {
    "plot": {"length_m": 20, "width_m": 20},
    "tank": {"volume_l": 500},
    "stand_height_m": 2.5,
}


@pytest.fixture
def bare():
    """The shortest card, as a mapping that a test may change."""
    return copy.deepcopy(BARE)


@pytest.fixture(scope="session")
def plot_card():
    """A card from the shortest one with dotted fields set: plot_card(**{"plot.length_m": 40})."""

    def card(**fields):
        raw = copy.deepcopy(BARE)
        for dotted, value in fields.items():
            *path, last = dotted.split(".")
            part = raw
            for step in path:
                part = part.setdefault(step, {})
            part[last] = value
        return read_card(raw)

    return card


@pytest.fixture(scope="session")
def hopeless_card(plot_card):
    """4000 emitters on a line of 3 mm: each curve from nearer by would need another within it."""
    return plot_card(
        stand_height_m=1,
        line_spacing_m=0.5,
        layout={"tank_position": "corner", "lines_run": "length", "blocks": 1},
        **{
            "plot.length_m": 400,
            "plot.width_m": 1,
            "plot.slope_length_pct": -2,
            "dripline.inner_diameter_mm": 3,
            "dripline.emitter_spacing_m": 0.1,
            "dripline.emitter_flow_lph": 4,
            "dripline.exponent": 0.2,
        },
    )


def random_plot(seed):
    """A plot that somebody might lay, every field given, from a seed."""
    rng = random.Random(seed)
    return {
        "plot": {
            "length_m": round(rng.uniform(5, 35), 1),
            "width_m": round(rng.uniform(4, 25), 1),
            "slope_length_pct": rng.choice([0, round(rng.uniform(-3, 3), 2)]),
            "slope_width_pct": rng.choice([0, round(rng.uniform(-4, 4), 2)]),
        },
        "tank": {
            "volume_l": rng.choice([200, 500, 1000]),
            "water_depth_m": round(rng.uniform(0.5, 1.4), 2),
            "outlet_height_m": 0.1,
        },
        "stand_height_m": rng.choice([0, round(rng.uniform(0.3, 3), 2)]),
        "line_spacing_m": rng.choice([0.6, 1, 1.2, 1.5]),
        "tap_k": rng.choice([1, 2.5]),
        "water_temp_c": round(rng.uniform(10, 30), 1),
        "submain": {"inner_diameter_mm": rng.choice([13.6, 17.4, 21.8, 28.2])},
        "dripline": {
            "inner_diameter_mm": rng.choice([10.4, 13.6, 16.0]),
            "emitter_spacing_m": rng.choice([0.2, 0.3, 0.5]),
            "emitter_flow_lph": rng.choice([0.5, 1, 2, 4]),
            "reference_head_m": 10,
            "exponent": round(rng.uniform(0.45, 0.6), 3),
            "cv": 0.05,
            "barb_loss_m": rng.choice([0, 0.1, 0.2]),
            "calibration": round(rng.uniform(0.8, 1.2), 2),
        },
        "layout": {
            "tank_position": rng.choice(["corner", "mid_side"]),
            "lines_run": rng.choice(["length", "width"]),
            "blocks": rng.choice([1, 1, 2, 3]),
        },
    }


@pytest.fixture(scope="session", name="random_plot")
def _random_plot():
    """Cards as mappings by seed: every field given, layout and blocks fixed."""
    return random_plot
