"""Plots per second: a season of many invented plots at once, against one plot at a time.

python tests/benchmarks/bench_season.py [plots]
"""

from __future__ import annotations

import argparse
import datetime
import random
import sys
import time

from service.sizing.climate import card_climate
from service.sizing.season import season
from service.sizing.season_many import plots, seasons
from service.sizing.tables import standard_tables
from service.sizing.watering import Case


def invented(count: int) -> list[Case]:
    """Plots of every crop and soil in a hundred climates, planted through one year."""
    tables, chance = standard_tables(), random.Random(14)
    crops, soils = list(tables.crops.values()), list(tables.soils.values())
    climates = [
        card_climate(
            [chance.uniform(2.5, 7.5) for _ in range(12)], [chance.uniform(0, 5) for _ in range(12)]
        )
        for _ in range(100)
    ]
    first = datetime.date(2026, 1, 1)
    return [
        Case(
            chance.choice(crops),
            chance.choice(soils),
            chance.choice(climates),
            chance.uniform(50, 1000),
            chance.uniform(0.6, 0.95),
            first + datetime.timedelta(days=chance.randrange(365)),
        )
        for _ in range(count)
    ]


def timed(label: str, count: int, began: float) -> None:
    """Write how long a part took and what that is in plots a second."""
    seconds = time.perf_counter() - began
    sys.stdout.write(f"{label:<34}{seconds:8.2f} s {count / seconds:12,.0f} plots/s\n")


def main() -> None:
    """Time the parts and check that both ways agree."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("plots", nargs="?", type=int, default=100_000)
    count = parser.parse_args().plots
    cases = invented(count)
    began = time.perf_counter()
    arrays = plots(cases)
    timed("curves and tables", count, began)
    start = time.perf_counter()
    together = seasons(arrays)
    timed("seasons, all at once", count, start)
    timed("both", count, began)
    some = min(300, count)
    start = time.perf_counter()
    alone = [season(case) for case in cases[:some]]
    timed("one plot at a time", some, start)
    worst = max(
        abs(one.gross_litres - float(together.gross_litres[place])) / max(one.gross_litres, 1.0)
        for place, one in enumerate(alone)
    )
    sys.stdout.write(f"largest difference between the two  {worst:.1e}\n")


if __name__ == "__main__":
    main()
