"""Fertiliser through the tank: how much, how weak, and how much salt it brings.

Every amount stays on the low side: what a crop may get each week is set under the little that was
read of practice, the water is never made stronger than 1 g/L nor saltier than the crop bears, and
what cannot be given that weakly is left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, pi
from typing import Literal

from service.errors import OutOfRange
from service.sizing.crops import Crop
from service.sizing.csv_table import Row, number, optional_number, parsed, word
from service.sizing.kc import Stage

FERTILISER_COLUMNS = (
    "key", "name", "n_pct", "p2o5_pct", "k2o_pct", "content_source", "content_status",
    "solubility_g_l", "solubility_source", "solubility_status",
    "ec_ds_m_per_g_l", "ec_source", "ec_status", "kg_l", "kg_l_status", "ions", "note",
)  # fmt: skip

WEEKLY_N_G_M2 = 0.7
"""Most nitrogen a week [g/m²]: common practice, no source; on the low side. Read for comparison: 7
lb an acre a week, 0.78 g/m², for tomatoes early in the season (Mississippi State Extension,
publication 2037, an excerpt); 4 to 5 kg/ha a day, 2.8 to 3.5 g/m² a week, taken up at the peak by
drip-irrigated tomatoes (Hartz and Bottoms 2009, abstract)."""
WEEKLY_P2O5_G_M2 = 0.25
"""Most phosphate a week [g/m²]: common practice, no source; on the low side."""
WEEKLY_K2O_G_M2 = 0.8
"""Most potash a week [g/m²]: common practice, no source; on the low side."""
STAGE_SHARE: Mapping[Stage, float] = {
    "initial": 0.5, "development": 1.0, "mid": 1.0, "late": 0.5, "none": 0.0,
}  # fmt: skip
"""Share of the week's amount by growth stage [-]: common practice, no source."""
LEGUME_SHARE = 0.5
"""Share of the nitrogen for crops that make their own [-]: common practice, no source."""
USUAL_STRENGTH_G_L = 1.0
"""Strongest feed [g/L]: safe for most crops, from memory, not verified; 2 is the upper bound."""
WEAKEST_G_L = 0.1
"""Below this a feed is not worth its work [g/L]: our choice."""
MOST_FEEDS = 7
"""Feeds a week: one a day at most."""
OF_SATURATION = 0.5
"""Share of its solubility to which a fertiliser is dissolved in the bucket [-]: our choice, for
cold water and impure grades."""
LEAST_BUCKET_L = 5.0
"""Least water to dissolve in [L]: common practice, no source."""
SOIL_WATER = 2.0
"""Salinity of the water between the roots over that of the saturation extract [-], in which crop
tolerance is told: from memory, not verified."""
USUAL_WATER_DS_M = 0.5
"""Taken where nobody measured the water [dS/m]: our choice, inside the class without restriction
of FAO-29 (below 0.7, read in copies)."""
UNRATED_THRESHOLD_DS_M = 1.0
"""Tolerance taken where the table prints none [dS/m]: that of the most sensitive vegetables."""
SPOON_ML = 15.0
"""A level tablespoon [mL]."""
HALF = 0.5
"""Share of a set's water that has run before the feed goes in [-]: common practice, no source."""

Limit = Literal["amount", "strength", "salt", "week"]


@dataclass(frozen=True, slots=True)
class Fertiliser:
    """One fertiliser: what it holds [%], dissolves [g/L at 20 °C] and weighs [kg/L of grains].

    `ec_ds_m_per_g_l` is the salt that a gram in a litre adds [dS/m]. A content is None where only
    the bag tells it.
    """

    key: str
    name: str
    n_pct: float | None
    p2o5_pct: float | None
    k2o_pct: float | None
    solubility_g_l: float
    ec_ds_m_per_g_l: float
    kg_l: float
    ions: tuple[str, ...]

    @property
    def told_by_bag(self) -> bool:
        """Whether its content must be asked for."""
        return self.n_pct is None

    @property
    def clouds_hard_water(self) -> bool:
        """Whether it makes sludge with the calcium of hard water."""
        return "sulphate" in self.ions or "phosphate" in self.ions


def read_fertilisers(text: str, file_name: str) -> dict[str, Fertiliser]:
    """Fertilisers by key, in the order of the table.

    Raises
    ------
    TextFileError
        Each row that cannot be used, with its line.
    """
    rows = parsed(text, file_name, FERTILISER_COLUMNS, _fertiliser)
    return {fertiliser.key: fertiliser for fertiliser in rows}


def _fertiliser(row: Row) -> Fertiliser:
    for group in ("content", "solubility", "ec", "kg_l"):
        word(row, f"{group}_status")
    return Fertiliser(
        key=word(row, "key"),
        name=word(row, "name"),
        n_pct=optional_number(row, "n_pct", 0, 82),
        p2o5_pct=optional_number(row, "p2o5_pct", 0, 75),
        k2o_pct=optional_number(row, "k2o_pct", 0, 63),
        solubility_g_l=number(row, "solubility_g_l", 10, 2000),
        ec_ds_m_per_g_l=number(row, "ec_ds_m_per_g_l", 0, 3),
        kg_l=number(row, "kg_l", 0.3, 2),
        ions=tuple(row["ions"].split()),
    )


@dataclass(frozen=True, slots=True)
class Plot:
    """What is fed: ground [m²], crop and stage, water of one set [L] and its salt [dS/m]."""

    crop: Crop
    stage: Stage
    area_m2: float
    set_litres: float
    water_ec_ds_m: float | None = None

    def __post_init__(self) -> None:
        if self.area_m2 <= 0:
            raise OutOfRange("area [m2]", self.area_m2, 0.1, 1e6)
        if self.set_litres <= 0:
            raise OutOfRange("water of a set [L]", self.set_litres, 1, 1e6)


@dataclass(frozen=True, slots=True)
class Feed:
    """One week's feeding.

    Attributes
    ----------
    feeds : int
        Feeds in the week, each `each_g` [g] of fertiliser.
    strength_g_l, added_ds_m : float
        Of the water that carries a feed: fertiliser [g/L], salt added [dS/m].
    bucket_litres : float
        Least water to dissolve one feed in [L].
    spoons : float
        Level tablespoons of grains in one feed.
    held_back : str
        What kept the amount down: amount (nothing did), salt (weaker, so in more feeds), week
        (there are not feeds enough in a week, so less of it), strength (1 g/L, in more feeds).
    """

    feeds: int
    each_g: float
    strength_g_l: float
    added_ds_m: float
    bucket_litres: float
    spoons: float
    held_back: Limit

    @property
    def week_g(self) -> float:
        """Fertiliser of the whole week [g]."""
        return self.feeds * self.each_g


def weekly_grams(
    fertiliser: Fertiliser, crop: Crop, stage: Stage, area_m2: float, bag_pct: float | None = None
) -> float:
    """Fertiliser a week for a piece of ground [g], before strength and salt.

    So much that none of its nutrients passes its weekly most. `bag_pct` is the greatest of the
    three numbers of a bag, which is then taken to be nitrogen: no nutrient gets more than that.

    Raises
    ------
    OutOfRange
        A bag's number is needed and missing, or outside 3 to 60 %.
    """
    nitrogen = WEEKLY_N_G_M2 * (LEGUME_SHARE if crop.group == "legumes" else 1.0)
    if fertiliser.told_by_bag:
        if bag_pct is None or not 3 <= bag_pct <= 60:
            raise OutOfRange("greatest number of the bag [%]", bag_pct or 0.0, 3, 60)
        each_m2 = nitrogen / (bag_pct / 100)
    else:
        most = (nitrogen, WEEKLY_P2O5_G_M2, WEEKLY_K2O_G_M2)
        held = (fertiliser.n_pct, fertiliser.p2o5_pct, fertiliser.k2o_pct)
        each_m2 = min(target / (pct / 100) for target, pct in zip(most, held, strict=True) if pct)
    return each_m2 * STAGE_SHARE[stage] * area_m2


def strongest_feed(fertiliser: Fertiliser, plot: Plot) -> tuple[float, Limit]:
    """Strength of the feed that crop and water allow [g/L], and what limits it.

    Water and feed together stay below twice the crop's threshold, since the water between the
    roots is about twice as salty as the extract in which tolerance is told.
    """
    threshold = plot.crop.salt.threshold_ds_m or UNRATED_THRESHOLD_DS_M
    water = USUAL_WATER_DS_M if plot.water_ec_ds_m is None else plot.water_ec_ds_m
    room = max(0.0, SOIL_WATER * threshold - water)
    if fertiliser.ec_ds_m_per_g_l * USUAL_STRENGTH_G_L <= room:
        return USUAL_STRENGTH_G_L, "strength"
    return room / fertiliser.ec_ds_m_per_g_l, "salt"


def feed(fertiliser: Fertiliser, plot: Plot, bag_pct: float | None = None) -> Feed | None:
    """One week's feeding of a plot; None where it must not be fed.

    It must not where the water is already about as salty as the crop bears, and where nothing
    grows.

    Raises
    ------
    OutOfRange
        As `weekly_grams`.
    """
    wanted = weekly_grams(fertiliser, plot.crop, plot.stage, plot.area_m2, bag_pct)
    strongest, limit = strongest_feed(fertiliser, plot)
    if wanted <= 0 or strongest < WEAKEST_G_L:
        return None
    carrying = HALF * plot.set_litres
    most_each = strongest * carrying
    feeds = ceil(wanted / most_each - 1e-9)
    held_back: Limit = "amount" if feeds == 1 else limit
    if feeds > MOST_FEEDS:
        feeds, held_back = MOST_FEEDS, "week"
    each = min(most_each, wanted / feeds)
    strength = each / carrying
    return Feed(
        feeds=feeds,
        each_g=each,
        strength_g_l=strength,
        added_ds_m=strength * fertiliser.ec_ds_m_per_g_l,
        bucket_litres=max(LEAST_BUCKET_L, each / (OF_SATURATION * fertiliser.solubility_g_l)),
        spoons=each / (fertiliser.kg_l * SPOON_ML),
        held_back=held_back,
    )


def pipe_litres(
    lines: int, line_m: float, line_bore_m: float, submain_m: float, bore_m: float
) -> float:
    """Water that stands in lines and submain [L]: the least that rinses them."""
    return 1000 * pi / 4 * (lines * line_m * line_bore_m**2 + submain_m * bore_m**2)


def ground_of_plants(crop: Crop, plants: float) -> float:
    """Ground that so many plants stand for [m²], at the crop's usual spacing."""
    return plants * crop.row_spacing_m * crop.plant_spacing_m
