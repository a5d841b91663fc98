"""The water that the soil holds for the crop, day by day: FAO-56 chapter 8 (read).

Depths are mm of water over the ground they stand under. Drip wets a share of the ground: that
share takes the drip, all the ground takes rain, and roots that have grown out of the strip drink
beside it first while it is easy there. With the whole ground wetted the rules are those of the
paper, equations 82 to 88, unchanged.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from typing import Literal

from service.errors import OutOfRange
from service.sizing.crops import Crop
from service.sizing.kc import StageDays
from service.sizing.soils import Soil

SEEDLING_ROOTS_M = 0.20
"""Root depth at planting [m]: 0.15 to 0.30 m from memory, not verified."""
SOIL_ON_P = {"coarse": 1.05, "medium": 1.0, "fine": 0.95}
"""Change of the depletion fraction by soil [-]; FAO-56 p. 167: clay 5 to 10 % less, sand 5 to
10 % more (read; the smaller change is taken)."""
IGNORED_RAIN = 0.2
"""Rain of a day under this share of ETo is not counted [-]; FAO-56 p. 170 (read)."""
LONGEST_REST_DAYS = 14
"""No answer lets a plot go unwatered for longer without another look [days]: our choice."""

Feel = Literal["dry", "top_wet", "finger", "hand"]
FEEL_DEPTH_M: dict[Feel, float] = {"dry": 0.0, "top_wet": 0.02, "finger": 0.08, "hand": 0.18}
"""How deep the soil is wet by a farmer's report [m]: a finger and a hand, common practice."""
UNKNOWN_DEPLETION = 0.75
"""Share of TAW taken as used up under the wet layer when nothing was known before [-]: ours."""


def total_available(soil_mm_per_m: float, root_depth_m: float) -> float:
    """Water in the root zone between field capacity and wilting, TAW [mm]; FAO-56 eq. 82."""
    return soil_mm_per_m * root_depth_m


def depletion_fraction(table_p: float, etc_mm_day: float, group: str = "medium") -> float:
    """Share of TAW that roots take without stress, p [-], kept within 0.1 to 0.8.

    FAO-56 p. 162: table value + 0.04 (5 - ETc); p. 167 for soil.
    """
    on_day = (table_p + 0.04 * (5 - etc_mm_day)) * SOIL_ON_P[group]
    return min(0.8, max(0.1, on_day))


def stress(depletion_mm: float, total_mm: float, fraction: float) -> float:
    """Share of full transpiration that the soil still gives, Ks [-]; FAO-56 eq. 84."""
    if depletion_mm <= fraction * total_mm:
        return 1.0
    return max(0.0, (total_mm - depletion_mm) / ((1 - fraction) * total_mm))


def root_depth(crop: Crop, stages: StageDays | None, day: float) -> float:
    """Root depth on a day since planting [m].

    From 0.20 m at planting in a straight line to the smaller depth of FAO-56 Table 22 (its note 1
    for scheduling) when full cover is reached.
    """
    if stages is None:
        return crop.root_min_m
    share = min(1.0, max(0.0, day / (stages.initial + stages.development)))
    start = min(SEEDLING_ROOTS_M, crop.root_min_m)
    return start + share * (crop.root_min_m - start)


@dataclass(frozen=True, slots=True)
class Zone:
    """The soil that roots use on one day.

    Attributes
    ----------
    total_mm, ready_mm : float
        TAW and RAW of the root zone [mm].
    wetted : float
        Share of the ground that drip wets [-].
    beside : float
        Share of the ground beside the strip that roots have reached [-].
    """

    total_mm: float
    ready_mm: float
    wetted: float = 1.0
    beside: float = 0.0

    def __post_init__(self) -> None:
        if not 0 < self.wetted <= 1 or not 0 <= self.beside <= 1 - self.wetted + 1e-9:
            raise OutOfRange("wetted and rooted share [-]", self.wetted + self.beside, 0, 1)
        if not 0 < self.ready_mm < self.total_mm:
            raise OutOfRange("readily available water [mm]", self.ready_mm, 0, self.total_mm)

    @property
    def set_limit_mm(self) -> float:
        """Most that one watering may bring, over the whole ground, when RAW is used up [mm]."""
        return self.wetted * self.ready_mm


def zone(crop: Crop, soil: Soil, day: float, etc_mm_day: float, wetted: float) -> Zone:
    """Root zone of a crop on a day since planting, under drip on a share of the ground.

    Roots leave the strip in step with the canopy: none in the initial stage, all the ground from
    full cover (our reasoning, as for rain in `watering.rain_share`).
    """
    total = total_available(soil.available_mm_per_m, root_depth(crop, crop.stages, day))
    fraction = depletion_fraction(crop.depletion_fraction, etc_mm_day, soil.group)
    return Zone(total, fraction * total, wetted, (1 - wetted) * _grown_in(crop.stages, day))


def _grown_in(stages: StageDays | None, day: float) -> float:
    if stages is None:
        return 1.0
    return min(1.0, max(0.0, (day - stages.initial) / stages.development))


@dataclass(frozen=True, slots=True)
class Store:
    """How much the wetted strip and the rooted ground beside it are short of full [mm each]."""

    strip_mm: float = 0.0
    beside_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class DayBalance:
    """One day of the balance, depths over the whole ground [mm].

    `stress` is Ks [-]; `evapotranspiration_mm` what the crop got; `lost_mm` what went below the
    roots.
    """

    store: Store
    stress: float
    evapotranspiration_mm: float
    lost_mm: float


def day_balance(
    store: Store,
    here: Zone,
    etc_mm: float,
    rain_mm: float = 0.0,
    drip_mm: float = 0.0,
    capillary_mm: float = 0.0,
) -> DayBalance:
    """Next evening's store; FAO-56 eqs 81 and 84 to 88.

    Rain (less what ran off) and drip fall early in the day and fill before the crop drinks
    (Example 38); what does not fit goes below the roots. Depletion stays between 0 and TAW.

    Parameters
    ----------
    store, here
        Evening before, and the root zone.
    etc_mm : float
        Need of the crop without stress [mm over the ground].
    rain_mm, drip_mm, capillary_mm : float
        Over the whole ground [mm]; `capillary_mm` rises from a near water table into the strip.
    """
    strip, over_strip = _filled(store.strip_mm, rain_mm + drip_mm / here.wetted)
    beside, over_beside = _filled(store.beside_mm, rain_mm)
    lost = over_strip * here.wetted + over_beside * here.beside
    fraction = here.ready_mm / here.total_mm
    from_beside = _easy_beside(beside, here, etc_mm)
    # Ks looks at what the strip is asked for when the day begins.
    ks = stress(strip, here.total_mm, fraction)
    from_strip = ks * (etc_mm - from_beside)
    after = strip + (from_strip - capillary_mm) / here.wetted
    # The last of the water: the crop cannot take what is not there.
    short = max(0.0, after - here.total_mm) * here.wetted
    strip = min(here.total_mm, max(0.0, after))
    if here.beside:
        beside += from_beside / here.beside
    used = from_strip + from_beside - short
    return DayBalance(Store(strip, beside), ks, used, lost)


def _filled(depletion_mm: float, water_mm: float) -> tuple[float, float]:
    """Depletion after water has come, and the water that did not fit."""
    return max(0.0, depletion_mm - water_mm), max(0.0, water_mm - depletion_mm)


def _easy_beside(depletion_mm: float, here: Zone, etc_mm: float) -> float:
    """What the crop drinks beside the strip [mm over the ground]: its share, while it is easy."""
    if not here.beside:
        return 0.0
    share = etc_mm * here.beside / (here.beside + here.wetted)
    return min(share, max(0.0, here.ready_mm - depletion_mm) * here.beside)


def counted_rain(rain_mm: float, eto_mm: float) -> float:
    """Rain of a day that the balance counts [mm]; FAO-56 p. 170."""
    return rain_mm if rain_mm >= IGNORED_RAIN * eto_mm else 0.0


def felt(store: Store | None, here: Zone, feel: Feel, root_depth_m: float) -> Store:
    """Store after somebody has dug and felt the soil of the strip: the finger overrules the table.

    The soil is full as deep as it feels wet; below, it is as short as it was thought to be, or
    three quarters used up when nothing was known. Dry means that it wants water now.
    """
    before = store or Store(UNKNOWN_DEPLETION * here.total_mm, UNKNOWN_DEPLETION * here.total_mm)
    if feel == "dry":
        return replace(before, strip_mm=max(before.strip_mm, here.ready_mm))
    dry_below = max(0.0, 1 - FEEL_DEPTH_M[feel] / root_depth_m)
    return replace(before, strip_mm=before.strip_mm * dry_below)


def days_to_skip(store: Store, here: Zone, etc_mm_day: float) -> int:
    """Whole days that the crop can go on without water before the strip's RAW is used up.

    At most 14: then dig and feel again.
    """
    for day in range(LONGEST_REST_DAYS):
        after = day_balance(store, here, etc_mm_day)
        if after.store.strip_mm > here.ready_mm + 1e-9:
            return day
        store = after.store
    return LONGEST_REST_DAYS


def water_due(store: Store, here: Zone) -> float:
    """Net drip that fills the strip again [mm over the ground]; FAO-56 p. 171: at most Dr."""
    return store.strip_mm * here.wetted


@dataclass(frozen=True, slots=True)
class Sets:
    """Into how many openings of the valve a day's water is divided, and why."""

    per_day: int
    limit: Literal["roots", "puddles", "none"]


MOST_SETS = 4
"""More openings a day than this nobody keeps up [-]: our choice."""


def sets_a_day(net_mm: float, here: Zone, soil: Soil, strip_rate_mm_h: float) -> Sets:
    """Openings of the valve for one day's net water.

    Parameters
    ----------
    net_mm : float
        Over the whole ground [mm].
    strip_rate_mm_h : float
        Litres an hour of an emitter over the strip that it wets [mm/h]: flow / (spacing x width).

    A light soil holds little within the roots, so that one opening brings at most the strip's RAW;
    on a soil that takes water in more slowly than the emitters give it, openings with rests
    between let it soak in. At most four.
    """
    for_roots = ceil(net_mm / here.set_limit_mm - 1e-9)
    for_surface = ceil(strip_rate_mm_h / soil.infiltration_low_mm_h - 1e-9)
    wanted = max(1, for_roots, for_surface if net_mm > 0 else 1)
    if wanted == 1:
        return Sets(1, "none")
    limit: Literal["roots", "puddles"] = "roots" if for_roots >= for_surface else "puddles"
    return Sets(min(MOST_SETS, wanted), limit)


def wets_one_strip(soil: Soil, emitter_spacing_m: float) -> bool:
    """Whether emitters so far apart wet one strip, not single spots, at 0.5 to 1 L/h.

    Spacing by soil is common practice: between handbook figures for 4 L/h and single doses.
    """
    return emitter_spacing_m <= soil.emitter_spacing_max_m + 1e-9
