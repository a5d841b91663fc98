"""The tables that every plan needs: crops, soils, pipes, and what a deployment adds to them.

With them stand those of single conversations: fertilisers, and what to protect in a shortage.

This is the only module that opens the package's own data files.
"""

from __future__ import annotations

import importlib.resources
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import cache
from typing import TYPE_CHECKING, TypeVar

from service.errors import CardError, FieldProblem
from service.sizing.climate import District, plain_letters
from service.sizing.crops import Crop, read_crops
from service.sizing.enough import Deficit, read_deficits
from service.sizing.feeding import Fertiliser, read_fertilisers
from service.sizing.pipes import PipeSize, read_pipes
from service.sizing.soils import Soil, read_soils

if TYPE_CHECKING:
    from service.sizing.prices import PriceList


Named = TypeVar("Named", Crop, Soil, District)


def table_text(name: str) -> str:
    """Text of one of the package's data files, such as "pipes.csv"."""
    folder = importlib.resources.files("service.sizing") / "data"
    return (folder / name).read_text(encoding="utf-8")


@dataclass(frozen=True, slots=True)
class Tables:
    """Crops, soils and pipes; districts and prices when a deployment has loaded its own."""

    crops: Mapping[str, Crop]
    soils: Mapping[str, Soil]
    pipes: tuple[PipeSize, ...]
    districts: Mapping[str, District]
    prices: PriceList | None = None
    fertilisers: Mapping[str, Fertiliser] = field(default_factory=dict)
    deficits: Mapping[str, Deficit] = field(default_factory=dict)

    def crop(self, key: str, field: str = "crop") -> Crop:
        """Return the crop of a key or English name; CardError with the near ones if unknown."""
        return _look_up(self.crops, key, field)

    def soil(self, key: str, field: str = "soil") -> Soil:
        """Return the soil of a key or English name; CardError with the near ones if unknown."""
        return _look_up(self.soils, key, field)

    def district(self, key: str, field: str = "district") -> District:
        """Return the district of an id or name; CardError with the near ones if unknown."""
        if not self.districts:
            allowed = "allowed: nothing, as no districts are loaded; give climate instead"
            raise CardError([FieldProblem(field, key, allowed)])
        return _look_up(self.districts, key, field)

    def with_districts(self, districts: Mapping[str, District]) -> Tables:
        """Return these tables with a deployment's districts."""
        return replace(self, districts=dict(districts))

    def with_prices(self, prices: PriceList) -> Tables:
        """Return these tables with a deployment's prices."""
        return replace(self, prices=prices)


def _look_up(table: Mapping[str, Named], key: str, field: str) -> Named:
    if key in table:
        return table[key]
    wanted = plain_letters(key).replace("_", " ")
    names = {plain_letters(item.name): item for item in table.values()}
    names |= {plain_letters(name).replace("_", " "): item for name, item in table.items()}
    if wanted in names:
        return names[wanted]
    near = get_close_matches(wanted, names, n=3, cutoff=0.7)
    keys = list(dict.fromkeys(names[name].key for name in near))
    if keys:
        raise CardError([FieldProblem(field, key, f"did you mean {' or '.join(keys)}?")])
    some = ", ".join(list(table)[:6])
    more = f" and {len(table) - 6} more" if len(table) > 6 else ""
    raise CardError([FieldProblem(field, key, f"allowed: {some}{more}")])


@cache
def standard_tables() -> Tables:
    """Crops, soils and pipes that come with the package; no districts, no prices."""
    crops = read_crops(
        table_text("crops.csv"), table_text("crop_stages.csv"), "crops.csv", "crop_stages.csv"
    )
    return Tables(
        crops=crops,
        soils=read_soils(table_text("soils.csv"), "soils.csv"),
        pipes=read_pipes(table_text("pipes.csv"), "pipes.csv"),
        districts={},
        fertilisers=read_fertilisers(table_text("fertilisers.csv"), "fertilisers.csv"),
        deficits=read_deficits(table_text("deficit.csv"), "deficit.csv", crops),
    )
