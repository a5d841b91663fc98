"""What the feed conversation shows and asks for by name."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from service.advice import feed_words
from service.advice.answers import Answers
from service.advice.context import Context
from service.advice.feed_words import FERTILISER_NAMES
from service.advice.water_case import crop_case, has_plot, no_crop, plot_water
from service.dialogue import Option, Registry
from service.errors import CardError
from service.phrases import Phrase, say
from service.sizing.feeding import Feed, Fertiliser, Plot, feed, ground_of_plants, pipe_litres
from service.sizing.today import Report, water_today
from service.sizing.watering import Case, growing_day
from service.units import metres

OTHER = "other"
"""Stored as the fertiliser when it is none of the list."""
USABLE = 0.9
"""Share of a tank above its outlet where no plot is known [-]: that of the card's usual tank."""
LAST_DAYS = 14
"""Days before the end of a crop on which it is fed no more [days]: common practice, no source."""


def _known(answers: Answers, context: Context) -> Fertiliser | None:
    return context.tables.fertilisers.get(str(answers.get("fertiliser")))


def _is_other(answers: Answers, context: Context) -> bool:
    return _known(answers, context) is None


def _bag_tells(answers: Answers, context: Context) -> bool:
    fertiliser = _known(answers, context)
    return fertiliser is not None and fertiliser.told_by_bag


def _fertilisers(answers: Answers, context: Context) -> Sequence[Option]:
    return [
        *(
            Option(key, say(name), others)
            for key, (name, others) in FERTILISER_NAMES.items()
            if key in context.tables.fertilisers
        ),
        Option(OTHER, say("Another")),
    ]


@dataclass(frozen=True)
class _Ground:
    """What is fed: its case, water of a full tank [L], and water that stands in the pipes [L]."""

    case: Case
    tank_litres: float
    rinse_litres: float | None


@dataclass(frozen=True)
class _Feeding:
    """Everything that the screens of one feed need; `feed` is None for the `reason` given."""

    fertiliser: Fertiliser
    ground: _Ground
    set_litres: float
    feed: Feed | None
    reason: str


def _feeding(answers: Answers, context: Context) -> _Feeding:
    """Reckon the feed of the answers; CardError when they make no plot or name no crop."""
    ground = _ground(answers, context)
    fertiliser = context.tables.fertilisers[str(answers["fertiliser"])]
    case = ground.case
    today = water_today(case, context.today, Report())
    set_litres = min(ground.tank_litres, today.gross_litres)
    reason = _no_feed(case, context, set_litres)
    if reason:
        return _Feeding(fertiliser, ground, set_litres, None, reason)
    plot = Plot(case.crop, today.stage, case.area_m2, set_litres, case.water_ec_ds_m or None)
    made = feed(fertiliser, plot, _number(answers, "bag_pct"))
    return _Feeding(fertiliser, ground, set_litres, made, "" if made else "salty")


def _number(answers: Answers, name: str) -> float | None:
    value = answers.get(name)
    return None if value in (None, "") else float(str(value))


def _ground(answers: Answers, context: Context) -> _Ground:
    if not has_plot(answers, context):
        crop = crop_case(answers, context).crop
        area = ground_of_plants(crop, _number(answers, "feed_plants") or 1.0)
        tank = USABLE * (_number(answers, "tank_volume_l") or 0.0)
        return _Ground(crop_case(answers, context, area), tank, None)
    plot = plot_water(answers, context)
    layout = plot.layout
    rinse = pipe_litres(
        layout.line_count,
        layout.line_length_m,
        metres(plot.card.dripline.inner_diameter_mm),
        layout.submain_length_m,
        metres(layout.submain_inner_diameter_mm),
    )
    return _Ground(plot.case, layout.delivered_litres, rinse)


def _no_feed(case: Case, context: Context, set_litres: float) -> str:
    number = growing_day(case, context.today)
    if number is None:
        return "over"
    if set_litres <= 0:
        return "wet"
    stages = case.crop.stages
    if case.crop.cycle == "season" and stages and number > stages.total - LAST_DAYS:
        return "last"
    return ""


Words = Callable[[_Feeding, Feed], Sequence[Phrase]]


def _from_feed(words: Words) -> Callable[[Answers, Context], Sequence[Phrase]]:
    """Make a show of a function that words a feed; where there is none it says why not."""

    def show(answers: Answers, context: Context) -> Sequence[Phrase]:
        if _is_other(answers, context):
            return no_crop()
        try:
            feeding = _feeding(answers, context)
        except CardError:
            return no_crop()
        if feeding.feed is None:
            return feed_words.no_feed(feeding.reason)
        return words(feeding, feeding.feed)

    return show


def _can_feed(answers: Answers, context: Context) -> bool:
    try:
        return not _is_other(answers, context) and _feeding(answers, context).feed is not None
    except CardError:
        return False


def _amount(feeding: _Feeding, made: Feed) -> Sequence[Phrase]:
    return feed_words.amount_in_words(made, feeding.fertiliser)


def _dissolve(feeding: _Feeding, made: Feed) -> Sequence[Phrase]:
    return feed_words.dissolve_in_words(made)


def _moment(feeding: _Feeding, made: Feed) -> Sequence[Phrase]:
    return feed_words.moment_in_words(feeding.set_litres, feeding.ground.tank_litres)


def _rinse(feeding: _Feeding, made: Feed) -> Sequence[Phrase]:
    return feed_words.rinse_in_words(feeding.ground.rinse_litres)


def _never(feeding: _Feeding, made: Feed) -> Sequence[Phrase]:
    return feed_words.never_with(feeding.fertiliser)


def _salt(feeding: _Feeding, made: Feed) -> Sequence[Phrase]:
    return feed_words.salt_in_words(made, feeding.ground.case.crop)


REGISTRY = Registry(
    guards={
        "fertiliser_is_other": _is_other,
        "bag_tells_content": _bag_tells,
        "can_feed": _can_feed,
    },
    shows={
        "feed_amount": _from_feed(_amount),
        "feed_dissolve": _from_feed(_dissolve),
        "feed_moment": _from_feed(_moment),
        "feed_rinse": _from_feed(_rinse),
        "feed_never": _from_feed(_never),
        "feed_salt": _from_feed(_salt),
    },
    options={"fertilisers": _fertilisers},
)
