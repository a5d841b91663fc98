"""Watering and upkeep of one plot as a calendar: entries with their days, and iCalendar text.

Watering repeats daily within each month of the plan, from the day asked on; what rain alone waters
is left out. Upkeep is what every small drip plot needs, at the intervals of common practice (no
source, but for the first flushing after two to three weeks: University of California, Maintenance
of Microirrigation Systems, read). Times are of no time zone: six in the morning where the plot is.
"""

from __future__ import annotations

import datetime
from calendar import monthrange
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from itertools import groupby

from icalendar import Calendar, Event

from service.phrases import Number, Phrase, say
from service.sizing.cases import Planting
from service.sizing.result import Plan, WateringMonth
from service.sizing.watering import day_of_growth

STARTS_AT = datetime.time(6, 0)
"""Hour of the day at which watering begins: our choice, before the heat."""
WEEK, FORTNIGHT, MONTH = 7, 15, 30
"""Days between rounds of upkeep."""
ROUGH_LITRES = 1000.0
"""From here on litres are told to the hundred, below to the ten [L]."""
FEW_LITRES = 10.0
"""Fewer are told to the litre."""
YEARS_SHOWN = 1
"""A crop that stays for years is shown for one."""


@dataclass(frozen=True, slots=True)
class Entry:
    """Something to do on the days from `first` to `last`, every `every_days` days.

    `minutes` is how long it takes; None for something without an hour.
    """

    key: str
    first: datetime.date
    last: datetime.date
    every_days: int
    minutes: float | None
    summary: Phrase
    text: tuple[Phrase, ...]


def calendar_entries(
    plan: Plan, plantings: Sequence[Planting], today: datetime.date
) -> tuple[Entry, ...]:
    """Entries of a plan from today to the end of the crop, in order of their days."""
    begin, end = _season(plantings, today)
    entries = [
        entry
        for row in _months(plan.watering, plantings, end)
        for entry in _watering(row, max(begin, today), end, plantings)
    ]
    if end >= today:
        entries += _upkeep(max(begin, today), end)
        entries += _season_ends(plantings, begin, end, today)
    return tuple(sorted(entries, key=lambda entry: (entry.first, entry.key)))


def _season(
    plantings: Sequence[Planting], today: datetime.date
) -> tuple[datetime.date, datetime.date]:
    """Return the first and last day on which anything grows; a year from today when it stays."""
    begin = min((planting.planted for planting in plantings), default=today)
    ends = [_last_day(planting, today) for planting in plantings]
    return begin, max(ends, default=today - datetime.timedelta(days=1))


def _months(
    rows: Sequence[WateringMonth], plantings: Sequence[Planting], end: datetime.date
) -> Iterator[WateringMonth]:
    """Yield the months of a plan; where every crop stays, the first once more to end the year."""
    yield from rows
    if rows and all(planting.crop.perennial for planting in plantings):
        again = rows[0].model_copy(update={"year": rows[0].year + 1})
        if datetime.date(again.year, again.month, 1) <= end:
            yield again


def _last_day(planting: Planting, today: datetime.date) -> datetime.date:
    stages = planting.crop.stages
    if planting.crop.cycle == "season" and stages is not None:
        return planting.planted + datetime.timedelta(days=int(stages.total) - 1)
    return max(today, planting.planted) + datetime.timedelta(days=365 * YEARS_SHOWN - 1)


def _watering(
    row: WateringMonth, begin: datetime.date, end: datetime.date, plantings: Sequence[Planting]
) -> Iterator[Entry]:
    """Yield a month's watering: one entry, or several where nothing grows in between."""
    first = max(begin, datetime.date(row.year, row.month, 1))
    last = min(end, datetime.date(row.year, row.month, monthrange(row.year, row.month)[1]))
    if row.gross_l_day <= 0:
        return
    for number, (start, stop) in enumerate(_days_of_growth(first, last, plantings)):
        again = f"-{number + 1}" if number else ""
        yield _watered(row, f"water-{row.year}-{row.month:02d}{again}", start, stop)


def _days_of_growth(
    first: datetime.date, last: datetime.date, plantings: Sequence[Planting]
) -> Iterator[tuple[datetime.date, datetime.date]]:
    """Yield the runs of days, first and last of each, on which something grows."""
    days = (first + datetime.timedelta(days=n) for n in range((last - first).days + 1))
    for grows, run in groupby(
        days, key=lambda day: any(day_of_growth(p.crop, p.planted, day) for p in plantings)
    ):
        if grows:
            found = list(run)
            yield found[0], found[-1]


def _watered(row: WateringMonth, key: str, first: datetime.date, last: datetime.date) -> Entry:
    rough = -2 if row.gross_l_day >= ROUGH_LITRES else -1 if row.gross_l_day >= FEW_LITRES else 0
    litres = Number(max(1.0, round(row.gross_l_day, rough)))
    fills = Number(max(0.1, row.fills_per_day), 1)
    if row.minutes_per_day is None:
        summary = say("Water the plot: about {litres} L", litres=litres)
    else:
        minutes = Number(max(5, 5 * round(row.minutes_per_day / 5)))
        summary = say("Water the plot: valve open about {minutes} min", minutes=minutes)
    return Entry(
        key=key,
        first=first,
        last=last,
        every_days=1,
        minutes=row.minutes_per_day,
        summary=summary,
        text=(
            say("About {litres} L, {fills} x the tank.", litres=litres, fills=fills),
            say("Dig first. Still wet a finger deep: give less, or skip the day."),
        ),
    )


def _season_ends(
    plantings: Sequence[Planting], begin: datetime.date, end: datetime.date, today: datetime.date
) -> Iterator[Entry]:
    """Yield what is done before the first watering, and after a crop that comes to an end."""
    if begin >= today:
        flush = say("Flush the main pipe first, then the lines, a few ends open at a time.")
        start = say("Before the first watering: flush")
        yield Entry("season-start", begin, begin, 1, None, start, (flush,))
    if any(planting.crop.perennial for planting in plantings):
        return
    away = (
        say("Flush, drain, lift. Roll loosely, hang in the shade away from rats and fire."),
        say("Keep small parts from children. Dry the filter. Empty the tank and tie it down."),
    )
    put_away = say("End of the crop: put the lines away")
    yield Entry("season-end", end, end, 1, None, put_away, away)


def _upkeep(begin: datetime.date, end: datetime.date) -> Iterator[Entry]:
    yield _round(
        "weekly", begin, end, WEEK,
        say("Filter and lines"),
        say("Rinse the filter; every day if the water is from a river or pond."),
        say("Walk each line: leaks, dry drippers. First and last dripper alike?"),
    )  # fmt: skip
    yield _round(
        "flush", begin, end, FORTNIGHT,
        say("Flush the lines"),
        say("Open the line ends, a few at a time, until the water is clear. Then the main pipe."),
    )  # fmt: skip
    yield _round(
        "tank", begin, end, MONTH,
        say("Tank and stand"),
        say("Lid tight, no dirt near the outlet, feet firm, bolts tight, strap sound."),
        say(
            "If the stand leans or sinks: everybody away. Open the valve only if you reach it from "
            "where the tank cannot fall on you."
        ),
    )  # fmt: skip


def _round(
    key: str, begin: datetime.date, end: datetime.date, days: int, summary: Phrase, *text: Phrase
) -> Entry:
    first = min(end, begin + datetime.timedelta(days=days))
    return Entry(key, first, end, days, None, summary, text)


def icalendar_text(
    entries: Sequence[Entry],
    plot: str,
    stamp: datetime.datetime,
    translate: Callable[[Phrase], str],
) -> bytes:
    """Entries as iCalendar (RFC 5545).

    Parameters
    ----------
    plot : str
        Whatever tells this plot from others, such as its card: it makes the entries' ids, so that
        a calendar read in again replaces its own entries and no others.
    stamp : datetime
        When the calendar was made, with its zone.
    translate : callable
        Words of a phrase.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Litreline//Watering and upkeep//EN")
    calendar.add("version", "2.0")
    digest = sha256(plot.encode("utf-8")).hexdigest()[:16]
    for entry in entries:
        calendar.add_component(_event(entry, digest, stamp, translate))
    return bytes(calendar.to_ical())


def _event(
    entry: Entry, digest: str, stamp: datetime.datetime, translate: Callable[[Phrase], str]
) -> Event:
    event = Event()
    event.add("uid", f"{entry.key}-{digest}@litreline")
    event.add("dtstamp", stamp.astimezone(datetime.UTC))
    last: datetime.date = entry.last
    if entry.minutes is None:
        event.add("dtstart", entry.first)
        event.add("transp", "TRANSPARENT")
    else:
        event.add("dtstart", datetime.datetime.combine(entry.first, STARTS_AT))
        event.add("duration", datetime.timedelta(minutes=max(1, round(entry.minutes))))
        # The last day's own start, in the same kind of time as the first.
        last = datetime.datetime.combine(entry.last, STARTS_AT)
    if entry.last > entry.first:
        event.add("rrule", {"freq": "daily", "interval": entry.every_days, "until": last})
    event.add("summary", translate(entry.summary))
    event.add("description", "\n".join(translate(phrase) for phrase in entry.text))
    event.add("categories", ["WATERING" if entry.key.startswith("water") else "UPKEEP"])
    return event
