"""Today's water in the words of the water conversation: short, "about" said, the finger first."""

from __future__ import annotations

from collections.abc import Sequence

from service.advice import rounding
from service.advice.crop_names import CROP_NAMES
from service.advice.water_case import PlotWater
from service.phrases import Number, Phrase, Value, say, say_n
from service.sizing.soil_store import Feel, wets_one_strip
from service.sizing.today import Report, Today
from service.sizing.watering import LEAST_UNIFORMITY
from service.units import BUCKET_L

ENOUGH_SHARE = 0.1
"""Share of the day's water that may be missing when the day counts as done [-]: our choice."""
LONG_MINUTES = 120.0
"""Longer than this is said in hours [min]."""
CENTIMETRES_PER_METRE = 100.0


def today_in_words(
    plot: PlotWater, today: Today, report: Report, given_l: float, rests_when: Feel | None = None
) -> tuple[Phrase, ...]:
    """The answer in one screen: minutes and fills, or why there are none.

    `rests_when` is the shallowest wet soil that would let this plot go without water today.
    """
    if today.stage == "none":
        return (say("The crop is over: no water now."),)
    if today.skip_days:
        return (rest(today.skip_days),)
    left = today.gross_litres - given_l
    if left <= ENOUGH_SHARE * today.gross_litres:
        return (
            say(
                "The plot had about {litres} L today: that is enough.",
                litres=rounding.litres(given_l),
            ),
        )
    first = _more(plot, left) if given_l > 0 else _whole_day(plot, left)
    return (first, *_goes(today), _dig(report, rests_when))


def rest(days: int) -> Phrase:
    """No water while the soil holds out."""
    return say_n(
        "No water today: the soil holds enough. Dig and feel again tomorrow.",
        "No water for {days} days: the soil holds enough. Then dig and feel again.",
        count="days",
        days=days,
    )


def _whole_day(plot: PlotWater, litres: float) -> Phrase:
    minutes = plot.minutes_for_litres(litres)
    if minutes is None:
        return _by_litres(litres)
    return say(
        "Valve open about {time}: {fills} x the tank.",
        time=duration(minutes),
        fills=rounding.fills(litres / plot.layout.delivered_litres),
    )


def _more(plot: PlotWater, litres: float) -> Phrase:
    minutes = plot.minutes_for_litres(litres)
    if minutes is None:
        return _by_litres(litres)
    return say(
        "Valve open about {time} more: {fills} x the tank.",
        time=duration(minutes),
        fills=rounding.fills(litres / plot.layout.delivered_litres),
    )


def duration(minutes: float) -> Phrase:
    """Minutes, or hours to the half above two."""
    if minutes < LONG_MINUTES:
        return say("{n} min", n=rounding.minutes(minutes))
    return say("{n} hours", n=Number(round(minutes / 30) / 2, 1))


def _by_litres(litres: float) -> Phrase:
    # The water stops before the outlet is reached: no time can be told, only how much it takes.
    return say(
        "Give about {litres} L: {buckets} buckets. The tank stops early: ring the helpline.",
        litres=rounding.litres(litres),
        buckets=rounding.buckets(litres, BUCKET_L),
    )


def _goes(today: Today) -> tuple[Phrase, ...]:
    if today.sets.limit == "roots":
        # Translators: n times the valve is opened and shut again.
        return (say("In {n} goes over the day, so none sinks away.", n=today.sets.per_day),)
    if today.sets.limit == "puddles":
        # Translators: n times the valve is opened and shut again, with rests of an hour.
        return (say("In {n} goes an hour apart, so that it soaks in.", n=today.sets.per_day),)
    return ()


def _dig(report: Report, rests_when: Feel | None) -> Phrase:
    """What the soil changed, or what it would: the finger decides, whatever the table says."""
    if report.feel == "dry":
        return say("More than usual, as it is dry.")
    if report.feel is not None:
        return say("A little less, as it is wet below.")
    if rests_when == "finger":
        # Translators: if the soil is wet a finger deep, give no water today.
        return say("Wet a finger deep? Skip.")
    if rests_when == "hand":
        return say("Wet a hand deep? Skip.")
    return say("Still wet below? Give less.")


def crops_in_words(needs: Sequence[tuple[PlotWater, Today]], given_l: float) -> tuple[Phrase, ...]:
    """Several crops behind one valve: the minutes of each, the thirstiest last.

    What the plot had today went to all lines alike, so each crop had its part of it.
    """
    total = sum(today.gross_litres for _, today in needs)
    if total <= 0:
        return (rest(max(1, min(today.skip_days for _, today in needs))),)
    if given_l >= (1 - ENOUGH_SHARE) * total:
        litres = rounding.litres(given_l)
        return (say("The plot had about {litres} L today: that is enough.", litres=litres),)
    area = sum(plot.case.area_m2 for plot, _ in needs)
    times = [_crop_minutes(plot, today, given_l, area) for plot, today in needs]
    if any(minutes is None for minutes in times):
        return (_by_litres(total - given_l),)
    ordered = sorted(zip(times, needs, strict=True), key=lambda one: one[0] or 0.0)
    last = len(ordered) - 1
    return tuple(
        _crop_time(plot, minutes or 0.0, last=place == last)
        for place, (minutes, (plot, _)) in enumerate(ordered)
    )


def _crop_minutes(plot: PlotWater, today: Today, given_l: float, area_m2: float) -> float | None:
    left = today.gross_litres - given_l * plot.case.area_m2 / area_m2
    return plot.minutes_for_litres(left) if left > ENOUGH_SHARE * today.gross_litres else 0.0


def _crop_time(plot: PlotWater, minutes: float, *, last: bool) -> Phrase:
    values: dict[str, Value] = {
        "crop": Phrase(CROP_NAMES[plot.case.crop.key][0]),
        "count": plot.lines or 0,
    }
    if minutes <= 0:
        # Translators: taps = where the lines of this crop leave the main pipe.
        return say("{crop} ({count} lines): no water today, shut the taps of its lines.", **values)
    values["time"] = duration(minutes)
    if last:
        # Translators: the crop that needs water longest, after the others are shut.
        return say("{crop} ({count} lines): about {time}, then shut the valve.", **values)
    # Translators: taps = where the lines of this crop leave the main pipe.
    return say("{crop} ({count} lines): about {time}, then shut the taps of its lines.", **values)


def why_in_words(plot: PlotWater, today: Today) -> tuple[Phrase, ...]:
    """Where today's number comes from, in terms of one square metre."""
    if today.stage == "none":
        return (say("The crop is over: no water now."),)
    area, uniformity = plot.case.area_m2, plot.case.emission_uniformity
    return (
        _drinks(today),
        *_balance(today),
        # Translators: more water than the plants take, since drippers are unequal.
        say(
            "Plot {area} m2, {share}% more for the weakest dripper.",
            area=Number(area),
            share=Number(100 * (1 / max(LEAST_UNIFORMITY, uniformity) - 1)),
        ),
        *_apart(plot),
        *_weather(plot),
    )


def _drinks(today: Today) -> Phrase:
    litres = Number(today.need_mm, 1)
    if today.stage == "initial":
        return say("Young plants take about {litres} L on a square metre today.", litres=litres)
    if today.stage == "development":
        return say("Growing plants take about {litres} L on a square metre today.", litres=litres)
    if today.stage == "mid":
        return say(
            "Full-grown plants take about {litres} L on a square metre today.", litres=litres
        )
    return say("Ripening plants take about {litres} L on a square metre today.", litres=litres)


def _balance(today: Today) -> tuple[Phrase, ...]:
    short = today.net_mm - today.need_mm
    if abs(short) < 0.1 * today.need_mm:
        return ()
    if short > 0:
        return (say("Dry soil: about {litres} L more.", litres=Number(short, 1)),)
    # Translators: of the litres on a square metre.
    return (say("The wet soil gives about {litres} L of it.", litres=Number(-short, 1)),)


def _apart(plot: PlotWater) -> tuple[Phrase, ...]:
    spacing = plot.card.dripline.emitter_spacing_m
    if wets_one_strip(plot.case.soil, spacing):
        return ()
    cm = Number(CENTIMETRES_PER_METRE * spacing)
    return (
        say("Drippers {cm} cm apart leave dry gaps in this soil: plant beside a dripper.", cm=cm),
    )


def _weather(plot: PlotWater) -> tuple[Phrase, ...]:
    if plot.case.climate.origin == "class":
        return (say("Your weather is not known: taken as hot and dry."),)
    return ()
