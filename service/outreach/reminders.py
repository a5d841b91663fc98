"""The weekly reminders: whose hour has come gets one text for their plot into the outbox.

A scan may run as often as one likes, and by several at once: the key of a text holds its plot and
week, and the outbox takes a key once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TypeAlias
from zlib import crc32

from service.channels import Letter, Post
from service.channels.verdict import MOST_FAILED_DAYS
from service.outreach.days import ContextFor, Contexts, Days
from service.outreach.fitting import Translate, spoken
from service.outreach.places import Places
from service.outreach.plot_week import BROKEN
from service.outreach.schedule import WeeklyTime, last_occurrence, week_key
from service.outreach.weekly import Weekly, weekly_text
from service.records import Audience, Farmer, UnitOfWork, require_aware

LATE = timedelta(days=1)
"""So long after its hour a text is still planned, where scans had stopped (our choice)."""
PAGE = 200
"""Plots a transaction."""
EVERYBODY = Audience()
_IDS = 16**4
"""Beginnings of random ids."""


@dataclass(frozen=True, slots=True)
class Scan:
    """What a scan did: texts queued, those queued before, and how many were left out and why."""

    looked_at: int = 0
    queued: int = 0
    before: int = 0
    left_out: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Due:
    farmer: Farmer
    key: str


_Hours: TypeAlias = dict[tuple[WeeklyTime, str], datetime | None]
"""The last occurrence of each time in each district, in one scan."""


class Reminders:
    """Plans weekly texts.

    `context_for` makes a context for a moment by the clock of the plot: its day is that of the
    moment. `usual` are times for whoever chose none: each phone keeps to one of them, so that not
    all texts of a large service fall into one hour.
    """

    def __init__(
        self,
        *,
        unit_of_work: Callable[[], UnitOfWork],
        context_for: ContextFor,
        translate: Translate,
        new_id: Callable[[], str],
        places: Places,
        language: str,
        usual: Sequence[WeeklyTime] = (WeeklyTime(),),
        late: timedelta = LATE,
        page: int = PAGE,
    ) -> None:
        self._unit_of_work, self._contexts = unit_of_work, Contexts(context_for, places)
        self._translate, self._post, self._places = translate, Post(new_id), places
        self._language, self._usual = language, tuple(usual)
        self._late, self._page = late, page

    def scan(self, now: datetime, part: int = 0, parts: int = 1) -> Scan:
        """Queue the texts whose hour has come since a day ago; those queued already stay.

        Several workers may share a scan, each with its own of so many `parts` (counted from 0): as
        ids are random, each has as many plots as the others.
        """
        done: Counter[str] = Counter()
        hours: _Hours = {}
        after, end = _share(part, parts)
        now = require_aware(now).astimezone(UTC)
        while True:
            with self._unit_of_work() as work:
                page = work.farmers.page(EVERYBODY, after, self._page)
                if end:
                    page = tuple(farmer for farmer in page if farmer.plot.id <= end)
                if not page:
                    return scanned(done)
                due = [one for farmer in page if (one := self._due(farmer, now, hours, done))]
                if due:
                    self._queue(work, due, now, done)
                    work.commit()
            done["looked_at"] += len(page)
            after = page[-1].plot.id

    def _due(self, farmer: Farmer, now: datetime, hours: _Hours, done: Counter[str]) -> _Due | None:
        """Return what is due to a farmer, if it may be sent at all."""
        district, time = farmer.plot.district, self.time_of(farmer)
        if (time, district) not in hours:
            zone = self._places.of(district).zone
            hours[time, district] = last_occurrence(time.rule, zone, now)
        at = hours[time, district]
        if at is None or now - at > self._late:
            return None
        if reason := unreachable(farmer):
            done[f"left_out:{reason}"] += 1
            return None
        return _Due(farmer, f"reminder:{farmer.plot.id}:week:{week_key(at.date())}")

    def time_of(self, farmer: Farmer) -> WeeklyTime:
        """Return when a farmer gets the weekly text: as chosen, else at one of the usual times."""
        if chosen := farmer.choice:
            return WeeklyTime(chosen.weekday, chosen.hour)
        # The same in every process, which Python's own hash of a text is not.
        return self._usual[crc32(farmer.phone.id.encode()) % len(self._usual)]

    def _queue(
        self, work: UnitOfWork, due: Sequence[_Due], now: datetime, done: Counter[str]
    ) -> None:
        known, days = work.outbox.known([one.key for one in due]), self._contexts.run(work)
        done["before"] += len(known)
        # All texts are written before the first row is, so that the writer's turn is short.
        letters = [self._letter(one, days, now, done) for one in due if one.key not in known]
        for place, letter in enumerate(letter for letter in letters if letter is not None):
            done["queued" if self._post.put(work, letter, now, place) else "before"] += 1

    def _letter(self, one: _Due, days: Days, now: datetime, done: Counter[str]) -> Letter | None:
        phone, plot = one.farmer.phone, one.farmer.plot
        begin, local, context = days.sending(plot.district, now)
        language, since = spoken(phone.language, self._language), plot.created_at
        known_since = since.astimezone(local.tzinfo).date()
        try:
            weekly = weekly_text(plot, context, self._translate, language, known_since)
        except BROKEN:
            # One plot with senseless answers must not silence all that come after it.
            weekly = Weekly("", "broken_answers")
        if not weekly.text:
            done[f"left_out:{weekly.left_out}"] += 1
            return None
        return Letter(phone.id, "reminder", one.key, weekly.text, language, not_before=begin)


def unreachable(farmer: Farmer) -> str:
    """Return why somebody must not or cannot be written to unasked; empty when they can."""
    if not farmer.phone.number.startswith("+"):
        return "no_number"
    if not farmer.consent:
        return "no_consent"
    return "number_paused" if farmer.phone.failed_days >= MOST_FAILED_DAYS else ""


def _share(part: int, parts: int) -> tuple[str, str]:
    """Return the id after which a part of all plots begins, and its last; "" for no bound."""
    if not 0 <= part < parts <= _IDS:
        raise ValueError(f"no part {part} of {parts}")
    first, last = (f"{place * _IDS // parts:04x}" for place in (part, part + 1))
    return first if part else "", last if part + 1 < parts else ""


def scanned(done: Counter[str]) -> Scan:
    """Return counts as a scan."""
    left_out = {
        name.removeprefix("left_out:"): count
        for name, count in done.items()
        if name.startswith("left_out:")
    }
    return Scan(done["looked_at"], done["queued"], done["before"], left_out)
