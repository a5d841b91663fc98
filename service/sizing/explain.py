"""The whole chain of one day's number: each step with its equation, inputs, result and source."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from service.sizing import eto
from service.sizing.climate import District
from service.sizing.kc import StageDays
from service.sizing.leaching import SMALL_LEACHING, leaching_requirement
from service.sizing.watering import (
    LEAST_UNIFORMITY,
    Case,
    Need,
    day_need,
    growing_day,
    kc_curve,
    rain_share,
)

FAO_56 = "FAO-56 (1998), read"
MEMORY = "from memory, not verified"
OURS = "our reasoning, no source"
NETWORK = "network of the plan: docs/network.md"
NO_STAGES = StageDays(0, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Quantity:
    """A named value with its unit."""

    name: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the chain: what was computed, by which equation, from what, on whose word."""

    name: str
    equation: str
    inputs: tuple[Quantity, ...]
    result: Quantity
    source: str
    note: str = ""


def explain_day(
    case: Case, day: datetime.date, district: District | None = None
) -> tuple[Step, ...]:
    """Every step from weather to litres at the valve for one day.

    With a `district` the chain begins at the month's weather; without one at the climate given.
    Nothing is left to explain on a day on which nothing grows but its ETo.
    """
    curve = kc_curve(case)
    need = day_need(case, curve, day)
    steps = list(_eto_steps(district, day)) if district is not None else []
    steps.append(_daily_eto(case, need))
    number = growing_day(case, day)
    if number is not None:
        steps += [
            *_coefficient_steps(case, need, number),
            _crop_water(need),
            _rain(case, need, rain_share(case, curve, number)),
            _net(need),
            *_leaching_steps(case),
            _gross(case, need),
        ]
    return tuple(steps)


def _q(name: str, value: float, unit: str) -> Quantity:
    return Quantity(name, value, unit)


def _eto_steps(district: District, day: datetime.date) -> Iterator[Step]:
    month = district.eto[day.month - 1]
    result = _q("ETo of the month", month.value, "mm/day")
    note = "; ".join(month.filled)
    source = district.source or "the district's table"
    if month.method == "given":
        yield Step("ETo of the month", "given in the table", (), result, source)
        return
    record = district.records[day.month - 1]
    low, high = _q("Tmin", record.tmin_c or 0.0, "°C"), _q("Tmax", record.tmax_c or 0.0, "°C")
    if month.weather is None:
        yield Step("ETo of the month", "eq. 52", (low, high), result, FAO_56, note)
        return
    yield from _radiation_steps(month.weather)
    yield _penman_step(month.weather, result, note)


def _radiation_steps(weather: eto.Weather) -> Iterator[Step]:
    ra = eto.extraterrestrial_radiation(weather.latitude, weather.day_of_year)
    place = (
        _q("latitude", weather.latitude, "degrees"),
        _q("day of the year", weather.day_of_year, "-"),
    )
    radiation = _q("Ra", ra, "MJ/m2/day")
    yield Step("radiation above the air", "eqs 21 to 25", place, radiation, FAO_56)
    yield Step(
        "net radiation",
        "eqs 37 to 40",
        (radiation, _q("Rs", weather.rs, "MJ/m2/day"), _q("ea", weather.ea, "kPa")),
        _q("Rn", eto.net_radiation(weather), "MJ/m2/day"),
        FAO_56,
    )


def _penman_step(weather: eto.Weather, result: Quantity, note: str) -> Step:
    inputs = (
        _q("Tmin", weather.tmin_c, "°C"),
        _q("Tmax", weather.tmax_c, "°C"),
        _q("es", eto.mean_saturation_pressure(weather.tmin_c, weather.tmax_c), "kPa"),
        _q("ea", weather.ea, "kPa"),
        _q("wind at 2 m", max(eto.LEAST_WIND, weather.wind_2m), "m/s"),
        _q("Rn", eto.net_radiation(weather), "MJ/m2/day"),
        _q("G", weather.g, "MJ/m2/day"),
        _q("elevation", weather.elevation, "m"),
    )
    return Step("ETo of the month", "eq. 6", inputs, result, FAO_56, note)


def _daily_eto(case: Case, need: Need) -> Step:
    month = case.climate.eto_mm_day[need.day.month - 1]
    origins = {
        "district": "months of the district",
        "card": "figures given on the card",
        "class": "nothing known of the place: upper end of FAO-56 Table 2",
    }
    return Step(
        "ETo of the day",
        "six waves through twelve months",
        (_q("ETo of the month", month, "mm/day"),),
        _q("ETo", need.eto_mm_day, "mm/day"),
        f"after Epstein 1991, {MEMORY}",
        origins[case.climate.origin],
    )


def _coefficient_steps(case: Case, need: Need, number: int) -> Iterator[Step]:
    if case.crop.stages is not None:
        yield _initial(case)
    yield _coefficient(case, need, number)
    yield Step(
        "ground cover",
        "none applied",
        (_q("cover factor", 1.0, "-"),),
        _q("cover factor used", 1.0, "-"),
        "FAO-56 ch. 9 (1998), read, is for sparse stands",
        "seedlings' and growing plants' Kc already mean small cover; young trees have rows of "
        "their own in the table",
    )


def _initial(case: Case) -> Step:
    halfway = case.planted + datetime.timedelta(days=(case.crop.stages or NO_STAGES).initial / 2)
    return Step(
        "wetted strip under seedlings",
        "eqs 60, 7-1 to 7-4",
        (
            _q("wetted share", case.wetted_fraction, "-"),
            _q("ETo half way through the stage", case.climate.eto_on(halfway), "mm/day"),
            _q("days between waterings", case.interval_days, "days"),
            _q("TEW", case.soil.tew_mm, "mm"),
            _q("REW", case.soil.rew_mm, "mm"),
        ),
        _q("Kc initial, drip", kc_curve(case).initial, "-"),
        f"{FAO_56}; wetted share: Table 20, upper end",
    )


def _coefficient(case: Case, need: Need, number: int) -> Step:
    curve = kc_curve(case)
    source = case.crop.sources["kc"]
    inputs = (
        _q("day since planting", number, "-"),
        _q("Kc initial, drip", curve.initial, "-"),
        _q("Kc mid", curve.mid, "-"),
        _q("Kc end", curve.end, "-"),
    )
    growing = "eqs 69, 75, 76" if need.stage == "development" else "eq. 66"
    adjusted = ", 62, 65" if case.climate.wind_2m is not None else ""
    return Step(
        f"crop coefficient, {need.stage} stage",
        growing + adjusted,
        inputs if case.crop.stages is not None else inputs[2:3],
        _q("Kc", need.kc, "-"),
        f"{FAO_56}; {case.crop.key}: {source.text or 'no source'} ({source.status})",
        "; ".join(note for note in (source.note, *_on_the_low_side(need)) if note),
    )


def _on_the_low_side(need: Need) -> tuple[str, ...]:
    if need.stage not in ("mid", "late"):
        return ()
    return ("under daily drip the dual form gives up to a tenth more",)


def _crop_water(need: Need) -> Step:
    return Step(
        "crop evapotranspiration",
        "eq. 58",
        (_q("Kc", need.kc, "-"), _q("ETo", need.eto_mm_day, "mm/day")),
        _q("ETc", need.kc * need.eto_mm_day, "mm/day"),
        FAO_56,
    )


def _rain(case: Case, need: Need, share: float) -> Step:
    return Step(
        "rain that counts",
        "dependable rain x share of the ground that roots reach",
        (
            _q("rain of a mean month", case.climate.rain_mm_day[need.day.month - 1], "mm/day"),
            _q("dependable rain", case.climate.effective_rain_on(need.day), "mm/day"),
            _q("share reached", share, "-"),
        ),
        _q("rain counted", need.rain_mm_day, "mm/day"),
        f"FAO/AGLW form, or the table's dependable rain by the SCS form, {MEMORY}; share: {OURS}",
    )


def _net(need: Need) -> Step:
    return Step(
        "net need",
        "ETc - rain counted, not below 0",
        (
            _q("ETc", need.kc * need.eto_mm_day, "mm/day"),
            _q("rain counted", need.rain_mm_day, "mm/day"),
        ),
        _q("net", need.net_mm_day, "mm/day"),
        FAO_56,
    )


def _leaching_steps(case: Case) -> Iterator[Step]:
    if case.water_ec_ds_m <= 0:
        return
    share = leaching_requirement(case.water_ec_ds_m, case.crop.salt)
    yield Step(
        "water to wash salt down",
        "ECw / (2 maxECe)",
        (
            _q("ECw", case.water_ec_ds_m, "dS/m"),
            _q("maxECe", case.crop.salt.nil_yield_ds_m, "dS/m"),
        ),
        _q("LR", share, "-"),
        f"Keller and Bliesner 1990, {MEMORY}; maxECe by FAO-56 eq. 89",
        "a tenth or less is covered by uneven watering" if share <= SMALL_LEACHING else "",
    )


def _gross(case: Case, need: Need) -> Step:
    leaching = leaching_requirement(case.water_ec_ds_m, case.crop.salt)
    used = leaching if leaching > SMALL_LEACHING else 0.0
    return Step(
        "litres at the valve",
        "net x area / (EU (1 - LR))",
        (
            _q("net", need.net_mm_day, "mm/day"),
            _q("area", case.area_m2, "m2"),
            _q("EU", max(LEAST_UNIFORMITY, case.emission_uniformity), "-"),
            _q("LR used", used, "-"),
        ),
        _q("gross", need.gross_l_day, "L/day"),
        f"1 mm on 1 m2 is 1 litre: FAO-56 Table 1, read; Keller and Bliesner 1990, {MEMORY}",
    )


def explain_uniformity(least_lph: float, mean_lph: float, cv: float, uniformity: float) -> Step:
    """How the emission uniformity [-] comes from the flows of the weakest and the mean emitter."""
    return Step(
        "emission uniformity",
        "(1 - 1.27 cv) q_min / q_mean",
        (
            _q("q_min", least_lph, "L/h"),
            _q("q_mean", mean_lph, "L/h"),
            _q("cv of new emitters", cv, "-"),
        ),
        _q("EU", uniformity, "-"),
        f"ASAE EP405.1 after Keller and Karmeli 1974, {MEMORY}; flows: {NETWORK}",
        "worst block, tank full",
    )


def explain_valve(
    gross_l_day: float, delivered_litres: float, minutes: float | None
) -> tuple[Step, ...]:
    """Fills and minutes that bring a day's litres [L/day] with a tank that gives so many [L]."""
    if delivered_litres <= 0:
        return ()
    gross = _q("gross", gross_l_day, "L/day")
    fills = gross_l_day / delivered_litres
    steps = [
        Step(
            "tank fills",
            "gross / litres of one full tank down to its outlet",
            (gross, _q("one full tank", delivered_litres, "L")),
            _q("fills", fills, "a day"),
            NETWORK,
        )
    ]
    if minutes is not None:
        steps.append(
            Step(
                "open valve",
                "integral of tank area x dH / Q(H), from full, filled again when empty",
                (gross, _q("fills", fills, "a day")),
                _q("minutes", minutes, "min/day"),
                NETWORK,
                "all blocks and sets together",
            )
        )
    return tuple(steps)


def steps_as_text(steps: tuple[Step, ...]) -> str:
    """Steps as numbered lines: result, equation and inputs, source, note."""
    return "\n".join(line for place, step in enumerate(steps, 1) for line in _lines(place, step))


def _lines(place: int, step: Step) -> Iterator[str]:
    yield f"{place:2}. {step.name}: {_said(step.result)}"
    inputs = ", ".join(_said(quantity) for quantity in step.inputs)
    yield f"    by {step.equation}" + (f"; from {inputs}" if inputs else "")
    yield f"    source: {step.source}"
    if step.note:
        yield f"    note: {step.note}"


def _said(quantity: Quantity) -> str:
    unit = "" if quantity.unit == "-" else f" {quantity.unit}"
    return f"{quantity.name} {quantity.value:.4g}{unit}"
