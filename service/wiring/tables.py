"""The tables a plan needs, with a deployment's districts and prices or the invented ones."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from service.sizing.climate import read_districts
from service.sizing.prices import read_prices
from service.sizing.tables import Tables, standard_tables
from service.wiring.files import read_text, scenario_file


class LoadedTables(NamedTuple):
    """The tables, and which of them are the invented valley's."""

    tables: Tables
    invented: tuple[str, ...]

    @property
    def notice(self) -> str:
        """One sentence for whoever must not take the invented for real; empty when all is real."""
        if not self.invented:
            return ""
        variables = " and ".join(f"LITRELINE_{name.upper()}" for name in self.invented)
        what = " and ".join(self.invented)
        return f"{what} are invented, for trying the service: set {variables} to load real ones"


def load_tables(
    districts: Path | None, prices: Path | None, *, invented_prices: bool = True
) -> LoadedTables:
    """Return the tables with these files, or the invented valley's where there is none.

    Without `invented_prices` there are no prices then: a plan for a real plot must not be ranked
    by a made-up shop.

    Raises FileTrouble or TextFileError for a file that cannot be used.
    """
    climate = districts or scenario_file("districts.csv")
    tables = standard_tables().with_districts(read_districts(read_text(climate), climate.name))
    shop = prices or (scenario_file("prices.csv") if invented_prices else None)
    if shop is not None:
        tables = tables.with_prices(read_prices(read_text(shop), shop.name))
    invented = [("districts", districts is None), ("prices", prices is None and invented_prices)]
    return LoadedTables(tables, tuple(name for name, made_up in invented if made_up))
