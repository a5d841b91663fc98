"""Whole plans a second on one core: a file of cards, from text to text, one after the other.

Run it from the checkout: python tests/benchmarks/bench_plans.py [number of cards, 10000]
"""

import json
import random
import sys
import time

from service.advice import plan
from service.sizing.card import read_card
from service.sizing.tables import standard_tables

CROPS = ("tomato", "onion", "cabbage")


def card(rng):
    """A smallholder's plot; now and then something is known of its slope, pipe or dripline."""
    raw = {
        "plot": {"length_m": rng.randint(8, 40), "width_m": rng.randint(8, 25)},
        "tank": {"volume_l": rng.choice([200, 500, 1000, 2000])},
        "stand_height_m": rng.choice([0.5, 1.0, 1.5, 2.0, 2.5]),
        "crop": rng.choice(CROPS),
        "climate": {"eto_mm_day": round(rng.uniform(3, 7), 1), "rain_mm_day": 0},
        "planting_date": f"2026-{rng.randint(1, 12):02}-01",
        "supply": {"fill": "bucket", "litres_per_day": rng.choice([300, 600, 1200])},
    }
    if rng.random() < 0.4:
        raw["plot"]["slope_width_pct"] = round(rng.uniform(-2, 2), 1)
    if rng.random() < 0.4:
        raw["submain"] = {"inner_diameter_mm": rng.choice([13.6, 17.4, 21.8, 28.2])}
    return json.dumps(raw)


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    rng = random.Random(2026)
    cards, tables = [card(rng) for _ in range(count)], standard_tables()
    times, size = [], 0
    for text in cards:
        start = time.perf_counter()
        size += len(plan(read_card(text), tables).model_dump_json(by_alias=True))
        times.append(time.perf_counter() - start)
    times.sort()
    late = times[count * 99 // 100]
    print(
        f"{count} cards in {sum(times):.1f} s: {count / sum(times):.0f} plans a second;"
        f" median {1e3 * times[count // 2]:.1f} ms, 99 % within {1e3 * late:.0f} ms,"
        f" longest {1e3 * times[-1]:.0f} ms; {size / count / 1000:.1f} kB a plan"
    )


if __name__ == "__main__":
    main()
