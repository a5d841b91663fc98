"""Feeding through the tank, in words: amount, bucket, moment, rinse, and what must never go in."""

from __future__ import annotations

from math import ceil

from service.advice import rounding
from service.advice.enough_words import crop_name
from service.phrases import N_, Number, Phrase, say, say_n
from service.sizing.crops import Crop
from service.sizing.feeding import Feed, Fertiliser
from service.units import BUCKET_L

FERTILISER_NAMES: dict[str, tuple[str, tuple[str, ...]]] = {
    "urea": (N_("Urea"), ()),
    "ammonium_sulphate": (N_("Ammonium sulphate"), ("ammonium sulfate", "sulphate of ammonia")),
    "calcium_nitrate": (N_("Calcium nitrate"), ()),
    "potassium_nitrate": (N_("Potassium nitrate"), ("nitrate of potash",)),
    "map": (N_("MAP 12-61"), ("map", "mono ammonium phosphate")),
    "mkp": (N_("MKP 0-52-34"), ("mkp", "mono potassium phosphate")),
    "potassium_sulphate": (N_("Potassium sulphate"), ("potassium sulfate", "sulphate of potash")),
    "potassium_chloride": (N_("Potassium chloride, white"), ("muriate of potash",)),
    "npk": (N_("NPK that dissolves clear"), ("npk", "soluble npk")),
}
"""Fertilisers as a caller hears them, in the order of the menu, with other names."""
SMALL_SPOONS = 26.0
"""More level spoons than this, two cups full, are told in cups [-]."""
CUP_SPOONS = 200.0 / 15.0
"""Level tablespoons of 15 mL in a tea cup of 200 mL [-]."""


def fertiliser_name(fertiliser: Fertiliser) -> Phrase:
    """The fertiliser as the caller chose it."""
    name = FERTILISER_NAMES.get(fertiliser.key)
    return say(name[0]) if name else say("{f}", f=fertiliser.name)


def amount_in_words(feed: Feed, fertiliser: Fertiliser) -> tuple[Phrase, ...]:
    """How much this week, and in how many feeds."""
    return (
        say_n(
            "{fertiliser}, this week once: about {grams} g ({measure}).",
            "{fertiliser}, this week on {feeds} days: about {grams} g each ({measure}).",
            count="feeds",
            fertiliser=fertiliser_name(fertiliser),
            feeds=feed.feeds,
            grams=grams(feed.each_g),
            measure=measure(feed.spoons),
        ),
        *_held_back(feed),
    )


def grams(value: float) -> Number:
    """Grams, cut down: to 10 above a hundred, to 5 above twenty, else whole."""
    step = 10 if value >= 100 else 5 if value >= 20 else 1
    return Number(max(1, step * int(value / step + 1e-9)))


def measure(spoons: float) -> Phrase:
    """So many grains in kitchen measures, cut down."""
    if spoons > SMALL_SPOONS:
        # Translators: a tea cup of 200 mL, filled level with grains.
        return say("{n} x a tea cup", n=Number(_cut(spoons / CUP_SPOONS), 1))
    # Translators: a tablespoon of 15 mL, filled level with grains.
    return say("{n} x a level spoon", n=Number(_cut(spoons), 1))


def _cut(value: float) -> float:
    return max(0.5, int(2 * value + 1e-9) / 2)


def _held_back(feed: Feed) -> tuple[Phrase, ...]:
    if feed.held_back == "salt":
        return (say("Not stronger: salty for this crop."),)
    if feed.held_back == "week":
        # Translators: more fertiliser than this.
        return (say("More is not safe in one week."),)
    return ()


def no_feed(reason: str) -> tuple[Phrase, ...]:
    """Why nothing goes in now."""
    if reason == "over":
        return (say("The crop is over: no feeding now."),)
    if reason == "wet":
        return (say("No watering is due today, so no feeding. Ask again when it is dry."),)
    if reason == "last":
        return (say("The last two weeks before the end of the crop: no more feeding."),)
    return (say("Too salty for this crop: none of it through the lines. Ask the helpline."),)


def dissolve_in_words(feed: Feed) -> tuple[Phrase, ...]:
    """The bucket: warm water, stir, strain, and how it gets up to the tank."""
    return (
        # Translators: one feed is the fertiliser of one day.
        say(
            "Stir one feed in {litres} L of warm water until clear. Pour it through a cloth.",
            litres=Number(ceil(feed.bucket_litres - 1e-9)),
        ),
        say("Lift it to the tank by rope: do not climb with a bucket."),
    )


def moment_in_words(set_litres: float, tank_litres: float) -> tuple[Phrase, ...]:
    """When in the set: half of the water first, and no way back into a well."""
    # Translators: the hose that fills the tank; half of the water has run out of the tank.
    half = say(
        "Take any filling hose out. When half has run, pour the feed in, stir, let all run out."
    )
    if set_litres >= tank_litres:
        # Translators: the fertiliser.
        return (say("Give it with the last full tank of the day."), half)
    return (
        say(
            "Put {litres} L of water in the tank ({buckets} buckets), open the valve.",
            litres=rounding.litres(set_litres),
            buckets=rounding.buckets(set_litres, BUCKET_L),
        ),
        half,
    )


def rinse_in_words(rinse_litres: float | None) -> tuple[Phrase, ...]:
    """Clean water afterwards: as much as stands in the pipes, or some minutes."""
    if rinse_litres is None:
        return (say("Then rinse: run clean water for 15 minutes."),)
    return (
        say(
            "Then rinse: run {buckets} buckets of clean water through.",
            buckets=rounding.buckets(max(rinse_litres, BUCKET_L), BUCKET_L),
        ),
    )


def never_with(fertiliser: Fertiliser) -> tuple[Phrase, ...]:
    """What this fertiliser must not meet."""
    sentences = []
    if "calcium" in fertiliser.ions:
        sentences.append(say("Never with sulphate, MAP or NPK: white sludge."))
    if fertiliser.clouds_hard_water:
        sentences.append(say("Never with calcium nitrate: white sludge."))
    if fertiliser.key == "potassium_chloride":
        sentences.append(say("Never the red kind: it has sludge."))
    sentences.append(say("Never two kinds at once, nor on a day of acid or chlorine."))
    # Translators: TSP, SSP and DAP stand on the bag; keep them as they are.
    sentences.append(say("Never TSP, SSP, DAP, lime, manure or compost."))
    return tuple(sentences)


def salt_in_words(feed: Feed, crop: Crop) -> tuple[Phrase, ...]:
    """Salt that the feed adds, against what the crop bears."""
    if feed.added_ds_m < 0.05:
        added = say("It adds almost no salt.")
    else:
        added = say(
            "It adds about {added} dS/m of salt while it runs: {crop} bears it.",
            added=Number(feed.added_ds_m, 1),
            crop=crop_name(crop),
        )
    return (added, say("Burnt leaf edges or a white crust? Stop, give only water."))
