"""Our solution against EPANET's engine: same machine, same run, same plots, equal results.

Run it from the checkout: python tests/benchmarks/bench_hydraulics.py

For each size it prints the best of several timings: EPANET building and solving one layout, and
ours from the card to the same layout's flows (and to every emitter's flow), the ratio of the two,
and how far total and least flow differ.
"""

import importlib.util
import math
import time
from pathlib import Path

from service.sizing.card import read_card
from service.sizing.geometry import network_of
from service.sizing.sized import candidate

MODEL = Path(__file__).parent.parent / "sizing" / "epanet_model.py"
SIZES = ((4, 5), (8, 8), (20, 20), (40, 20), (60, 40), (100, 60))
"""Length and width of the plots [m]: 65 to 19,980 emitters."""


def epanet_plot():
    spec = importlib.util.spec_from_file_location("epanet_model", MODEL)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.EpanetPlot


def raw_card(length, width):
    return {
        "plot": {
            "length_m": length,
            "width_m": width,
            "slope_length_pct": 0,
            "slope_width_pct": 0,
        },
        "tank": {"volume_l": 1000, "water_depth_m": 1.0},
        "stand_height_m": 2.0,
        "line_spacing_m": 1.0,
        "tap_k": 1.0,
        "water_temp_c": 20,
        "submain": {"inner_diameter_mm": 35.4},
        "dripline": {
            "inner_diameter_mm": 13.6,
            "emitter_spacing_m": 0.3,
            "emitter_flow_lph": 1.0,
            "reference_head_m": 10,
            "exponent": 0.5,
            "barb_loss_m": 0.1,
        },
    }


def best_seconds(task, repeats=5):
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        found = task()
        times.append(time.perf_counter() - start)
    return min(times), found


def ours(raw):
    one = candidate(*laid(raw), 1)
    return one.full[0]


def ours_with_emitters(raw):
    one = candidate(*laid(raw), 1)
    return one.full[0], one.emitter_flows()


def laid(raw):
    card = read_card(raw)
    return card, network_of(card, "corner", "length", 0.0354)


def theirs(model, raw):
    """Build, solve and read the flows; EPANET keeps every emitter's flow ready."""
    inlet_k = laid(raw)[1].down.minor_k
    start = time.perf_counter()
    plot = model(raw, "corner", "length", 35.4, inlet_k)
    flows, _ = plot.solve(3.0)
    seconds = time.perf_counter() - start
    plot.close()
    return seconds, flows


def main():
    model = epanet_plot()
    print(
        "emitters  EPANET ms  ours ms  ratio  with emitters ms  ratio  us/emitter  total %  least %"
    )
    for length, width in SIZES:
        raw = raw_card(length, width)
        runs = [theirs(model, raw) for _ in range(5)]
        epanet, flows = min(run[0] for run in runs), runs[0][1]
        quick, full = best_seconds(lambda raw=raw: ours(raw))
        whole, (_, every) = best_seconds(lambda raw=raw: ours_with_emitters(raw))
        count = sum(len(line) for line in every)
        total = 100 * (full.total_flow_lph / math.fsum(map(math.fsum, flows)) - 1)
        least = 100 * (full.min_flow_lph / min(map(min, flows)) - 1)
        print(
            f"{count:8d} {1e3 * epanet:10.2f} {1e3 * quick:8.2f} {epanet / quick:6.1f}"
            f" {1e3 * whole:17.2f} {epanet / whole:6.1f} {1e6 * quick / count:11.3f}"
            f" {total:8.3f} {least:8.3f}"
        )


if __name__ == "__main__":
    main()
