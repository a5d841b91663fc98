"""Treating clogged lines with acid or chlorine: how much mix, and how strong.

A dose is a figure for a trained person on the spot. Here are only litres and millilitres: the
rules that go with them, and whether a dose is told at all, belong to `advice`. Outside the ranges
for which the figures hold nothing is returned but an error.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal, cast, get_args

from service.errors import OutOfRange
from service.sizing.csv_table import Row, number, optional_number, parsed, word
from service.sizing.laying import Laying
from service.sizing.sized import Candidate
from service.sizing.tables import table_text
from service.units import MINUTES_PER_HOUR, SECONDS_PER_HOUR, litres, metres

SECONDS_PER_MINUTE = SECONDS_PER_HOUR / MINUTES_PER_HOUR
RUN_MINUTES = 5.0
"""How long every dripper runs once the pipes are full, before the valve is shut [min]: our choice;
enough for the mix to pass every outlet."""
RINSE_VOLUMES = 3.0
"""Clean water that follows, in volumes of the pipes [-]: common practice, no source."""
WHOLE_L = 10.0
"""A mix is made up to whole ten litres."""
MOST_MIX_L = 400.0
"""No more than two drums are mixed by hand [L]: our choice."""
MOST_DOSE = 2500.0
"""Most acid in one mix [mL, or g of powder]: our choice."""
PH_LOW, PH_HIGH = 2.0, 3.0
"""What paper must show in the mix: 2 for purging read (University of Florida), 2 to 3 settled."""
HOLD_MINUTES = 60
"""How long the mix stands in the lines [min]: 30 to 60 from memory, not verified."""
CHLORINE_PPM = 10.0
"""Free chlorine in the mix [mg/L]: 10 to 20 for 30 to 60 min from memory, not verified."""
BLEACH_LOW_PCT, BLEACH_HIGH_PCT = 1.0, 15.0
"""Available chlorine of liquid bleach [% w/v]; stronger is not plain bleach: our choice."""
PPM_PER_PCT_ML = 10.0
"""1 mL of 1 % w/v holds 10 mg: mL = ppm x L / (10 x %), arithmetic."""

Form = Literal["liquid", "powder"]
ACID_COLUMNS = (
    "key", "name", "form", "low_pct", "high_pct", "low_kg_l", "high_kg_l", "molar_g",
    "millimoles_per_l", "source", "status",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Acid:
    """One acid that may go into a mix.

    Attributes
    ----------
    key, name : str
        For code and for people.
    form : str
        liquid or powder.
    low_pct, high_pct : float
        Strengths by weight for which a dose is told [%].
    low_kg_l, high_kg_l : float or None
        Density at these strengths, straight between [kg/L]; None for a powder.
    molar_g : float
        Molar mass [g/mol].
    millimoles_per_l : float
        Acid in a litre of the mix [mmol/L]; gives pH 2 to 3 in water of up to 6 meq/L of
        alkalinity (computed in the tests).
    """

    key: str
    name: str
    form: Form
    low_pct: float
    high_pct: float
    low_kg_l: float | None
    high_kg_l: float | None
    molar_g: float
    millimoles_per_l: float

    def takes(self, strength_pct: float) -> bool:
        """Whether a dose is told at this strength [%]."""
        return self.low_pct <= strength_pct <= self.high_pct

    def dose_per_litre(self, strength_pct: float) -> float:
        """Acid for a litre of mix [mL, or g of a powder].

        Parameters
        ----------
        strength_pct : float
            Of the acid as bought, by weight [%].

        Raises
        ------
        OutOfRange
            Outside `low_pct` to `high_pct`.
        """
        if not self.takes(strength_pct):
            what = f"strength of {self.name} [%]"
            raise OutOfRange(what, strength_pct, self.low_pct, self.high_pct)
        pure_g = self.millimoles_per_l * self.molar_g / 1000.0
        return pure_g / (strength_pct / 100.0) / self._grams_per_unit(strength_pct)

    def _grams_per_unit(self, strength_pct: float) -> float:
        """Mass of a millilitre [g]; a powder is weighed, so 1."""
        if self.low_kg_l is None or self.high_kg_l is None:
            return 1.0
        share = (strength_pct - self.low_pct) / (self.high_pct - self.low_pct)
        return self.low_kg_l + share * (self.high_kg_l - self.low_kg_l)


def read_acids(text: str, file_name: str) -> dict[str, Acid]:
    """Acids by key, in the order of the table; TextFileError with each row that cannot be used."""
    return {acid.key: acid for acid in parsed(text, file_name, ACID_COLUMNS, _acid)}


def _acid(row: Row) -> Acid:
    if row["form"] not in get_args(Form):
        raise ValueError(f"form must be one of {', '.join(get_args(Form))}, not {row['form']!r}")
    low_pct = number(row, "low_pct", 1, 100)
    densities = (optional_number(row, "low_kg_l", 1, 2), optional_number(row, "high_kg_l", 1, 2))
    if (row["form"] == "liquid") != (None not in densities):
        raise ValueError("a liquid, and only a liquid, needs both densities")
    word(row, "source")
    word(row, "status")
    return Acid(
        key=word(row, "key"),
        name=word(row, "name"),
        form=cast(Form, row["form"]),
        low_pct=low_pct,
        high_pct=number(row, "high_pct", low_pct, 100),
        low_kg_l=densities[0],
        high_kg_l=densities[1],
        molar_g=number(row, "molar_g", 10, 500),
        millimoles_per_l=number(row, "millimoles_per_l", 1, 50),
    )


@cache
def acids() -> Mapping[str, Acid]:
    """The table that comes with the package; what it does not hold is never told by phone."""
    return read_acids(table_text("acids.csv"), "acids.csv")


@dataclass(frozen=True, slots=True)
class Mix:
    """How much mix fills the lines of a plot, and where it goes [L].

    Attributes
    ----------
    pipes : float
        Water that stands in down pipe, submain and lines.
    below_outlet : float
        What stays in the tank below its outlet, which the mix must fill first.
    dripped : float
        What the drippers give while every one of them is wetted.
    """

    pipes: float
    below_outlet: float
    dripped: float

    @property
    def litres(self) -> float:
        """The whole mix, made up to ten litres [L]."""
        whole = self.pipes + self.below_outlet + self.dripped
        return WHOLE_L * math.ceil(whole / WHOLE_L - 1e-9)

    @property
    def rinse_litres(self) -> float:
        """Clean water that must follow through the pipes [L]."""
        return RINSE_VOLUMES * self.pipes


def mix(one: Candidate, laying: Laying) -> Mix:
    """Return the mix for a plot whose tank and lines were emptied before.

    Enough to fill the pipes and to wet every dripper for `RUN_MINUTES`, with the tank all but
    empty; not a full tank.
    """
    level = one.surface - one.tank.depth + one.tank.outlet
    dripped = math.fsum(max(0.0, block.flow(level)) for block in one.blocks)
    return Mix(
        pipes=pipe_litres(one, laying),
        below_outlet=litres(one.tank.volume_at(one.tank.outlet)),
        dripped=litres(dripped * RUN_MINUTES * SECONDS_PER_MINUTE),
    )


def pipe_litres(one: Candidate, laying: Laying) -> float:
    """Water that stands in down pipe, submain with its headers, and lines [L]."""
    network, second = one.network, one.card.submain.second
    line_bore = metres(one.card.dripline.inner_diameter_mm)
    lengths = [
        (network.bore, laying.pipe_m),
        (line_bore, laying.line_count * laying.line_length_m),
    ]
    if second is not None:
        lengths.append((metres(second.inner_diameter_mm), laying.second_m))
    return litres(math.fsum(math.pi / 4.0 * bore**2 * length for bore, length in lengths))


def can_mix(mix_litres: float) -> bool:
    """Whether so much is still mixed by hand."""
    return 0.0 < mix_litres <= MOST_MIX_L


def acid_dose(acid: Acid, strength_pct: float, mix_litres: float) -> float:
    """Acid for a mix [mL, or g of a powder], cut down to what can be measured.

    Parameters
    ----------
    acid : Acid
        Of the table.
    strength_pct : float
        From its label, by weight [%].
    mix_litres : float
        The whole mix [L], at most `MOST_MIX_L`.

    Raises
    ------
    OutOfRange
        A strength outside the acid's range, too much mix, or more than `MOST_DOSE`.
    """
    _check_mix(mix_litres)
    dose = acid.dose_per_litre(strength_pct) * mix_litres
    if dose > MOST_DOSE:
        raise OutOfRange(f"dose of {acid.name}", dose, 0.0, MOST_DOSE)
    return measurable(dose)


def chlorine_dose(available_pct: float, mix_litres: float, ppm: float = CHLORINE_PPM) -> float:
    """Liquid bleach for a mix [mL]: ppm x litres / (10 x %), cut down to what can be measured.

    Parameters
    ----------
    available_pct : float
        Available chlorine from the label [% w/v], 1 to 15.
    mix_litres : float
        The whole mix [L], at most `MOST_MIX_L`.
    ppm : float
        Free chlorine wanted [mg/L], at most 20.

    Raises
    ------
    OutOfRange
        Outside these ranges.
    """
    _check_mix(mix_litres)
    if not BLEACH_LOW_PCT <= available_pct <= BLEACH_HIGH_PCT:
        raise OutOfRange("available chlorine [%]", available_pct, BLEACH_LOW_PCT, BLEACH_HIGH_PCT)
    if not 0.0 < ppm <= 2 * CHLORINE_PPM:
        raise OutOfRange("free chlorine [mg/L]", ppm, 0.0, 2 * CHLORINE_PPM)
    return measurable(ppm * mix_litres / (PPM_PER_PCT_ML * available_pct))


def _check_mix(mix_litres: float) -> None:
    if not can_mix(mix_litres):
        raise OutOfRange("mix [L]", mix_litres, 0.0, MOST_MIX_L)


def measurable(dose: float) -> float:
    """A dose cut down: to 10 above a hundred, to 5 above twenty, else whole."""
    step = 10.0 if dose >= 100.0 else 5.0 if dose >= 20.0 else 1.0
    return step * math.floor(dose / step + 1e-9)
