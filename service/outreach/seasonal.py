"""Seasonal messages: what they will cost, how they look, and putting them out batch after batch.

Each batch is one transaction: the texts in the outbox, what became of each plot, and the cursor.
Whoever runs batches may die at any moment and begin again with the cursor it knows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Literal, TypeAlias

from service.channels import Letter, Post
from service.outreach import estimate as estimates
from service.outreach.days import ContextFor, Contexts, Days
from service.outreach.estimate import EXACT_UP_TO, Estimate, from_on, random_id
from service.outreach.fitting import Translate
from service.outreach.places import Places
from service.outreach.seasonal_texts import TextCheck, check_texts
from service.outreach.seasonal_words import Words, Writer
from service.records import (
    Audience,
    Farmer,
    Recipient,
    SeasonalMessage,
    SeasonalState,
    UnitOfWork,
    masked,
    require_aware,
)
from service.text.measure import measure

BATCH = 300
"""Plots a transaction."""
MOST_WAITING = 2000
"""Most texts of one message that wait in the outbox: a pause then takes hold at once, and what is
queued is sent while its numbers still hold (our choice)."""
PAUSE_WAIT, QUEUE_WAIT = timedelta(minutes=1), timedelta(seconds=20)
LOOK_THROUGH = 50
"""Plots looked through for each one of a preview."""

Why: TypeAlias = Literal["paused", "not_yet", "queue_full", "sending"]


@dataclass(frozen=True, slots=True)
class Wait:
    """Nothing to do before a moment, and why."""

    until: datetime
    why: Why


@dataclass(frozen=True, slots=True)
class Preview:
    """A seasonal message as one farmer would get it; the number is masked."""

    number: str
    language: str
    text: str = field(repr=False)
    parts: int = 1


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a seasonal message has come.

    `planned` texts were queued and `skipped` plots left out of `plots` in all; `counts` tells how
    many stand in each state of the outbox, `waiting` how many the sender has still to look at.
    """

    state: SeasonalState
    plots: int
    planned: int
    skipped: int
    waiting: int
    counts: Mapping[str, int]


class Seasonal:
    """Estimates, previews and runs seasonal messages."""

    def __init__(
        self,
        *,
        unit_of_work: Callable[[], UnitOfWork],
        context_for: ContextFor,
        translate: Translate,
        new_id: Callable[[], str],
        places: Places,
        language: str,
        batch: int = BATCH,
        most_waiting: int = MOST_WAITING,
    ) -> None:
        self._unit_of_work, self._contexts = unit_of_work, Contexts(context_for, places)
        self._translate, self._new_id, self._language = translate, new_id, language
        self._batch, self._most_waiting = batch, most_waiting

    def check(self, texts: Mapping[str, str]) -> tuple[TextCheck, ...]:
        """Return what there is to say about each text, the default language first."""
        return check_texts(texts, self._language)

    def estimate(
        self,
        audience: Audience,
        texts: Mapping[str, str],
        now: datetime,
        *,
        rate_per_second: float,
        allowed_hours: float,
        price_per_part: float | None = None,
        exact_up_to: int = EXACT_UP_TO,
        seed: int = 0,
    ) -> Estimate:
        """Return what a message amounts to if it went out now; ValueError for a rate of 0."""
        with self._unit_of_work() as work:
            return estimates.estimate(
                work,
                audience,
                self._pen(work, audience, texts, now),
                rate_per_second=rate_per_second,
                allowed_hours=allowed_hours,
                price_per_part=price_per_part,
                exact_up_to=exact_up_to,
                seed=seed,
            )

    def preview(
        self, audience: Audience, texts: Mapping[str, str], n: int, now: datetime, seed: int = 0
    ) -> tuple[Preview, ...]:
        """Return the message as `n` of its recipients would get it now, chosen by the seed."""
        with self._unit_of_work() as work:
            write = self._pen(work, audience, texts, now)
            found: list[Preview] = []
            for farmer in from_on(work, audience, random_id(seed), n * LOOK_THROUGH):
                words = write(farmer)
                if not words.left_out:
                    parts, number = measure(words.text).parts, masked(farmer.phone.number)
                    found.append(Preview(number, words.language, words.text, parts))
                if len(found) == n:
                    break
            return tuple(found)

    def continue_batch(self, seasonal_id: str, cursor: str, now: datetime) -> str | Wait | None:
        """Queue the next texts of a message.

        Returns
        -------
        str, Wait or None
            The cursor to go on with; or when to come again; None when there is no more to do.

        Raises
        ------
        ConcurrentChange
            When somebody changed the message meanwhile: come again with the same cursor.
        """
        now = require_aware(now).astimezone(UTC)
        with self._unit_of_work() as work:
            message = work.seasonals.get(seasonal_id)
            if message is None or message.state not in ("approved", "running", "paused"):
                return None
            if wait := _held(message, now):
                return wait
            if message.cursor != cursor:
                # That batch was kept, but whoever ran it died before it could note so.
                return message.cursor
            done = self._next(work, message, now)
            work.commit()
            return done

    def progress(self, seasonal_id: str) -> Progress | None:
        """Return how far a message has come; None when there is no such one."""
        with self._unit_of_work() as work:
            message = work.seasonals.get(seasonal_id)
            if message is None:
                return None
            return Progress(
                state=message.state,
                plots=work.farmers.count(message.audience),
                planned=message.planned,
                skipped=message.skipped,
                waiting=work.seasonals.waiting(seasonal_id),
                counts=work.seasonals.progress(seasonal_id),
            )

    def _next(self, work: UnitOfWork, message: SeasonalMessage, now: datetime) -> str | Wait | None:
        waiting = work.seasonals.waiting(message.id)
        room = min(self._batch, self._most_waiting - waiting)
        if room <= 0:
            return Wait(now + QUEUE_WAIT, "queue_full")
        page = work.farmers.page(message.audience, message.cursor, room)
        if not page:
            if waiting:
                return Wait(now + QUEUE_WAIT, "sending")
            work.seasonals.save(replace(message, state="done"))
            return None
        recipients = [*self._queued(work, message, page, now)]
        work.seasonals.add_recipients(recipients)
        sent = sum(not each.left_out for each in recipients)
        moved = replace(
            message,
            state="running",
            cursor=page[-1].plot.id,
            planned=message.planned + sent,
            skipped=message.skipped + len(recipients) - sent,
        )
        work.seasonals.save(moved)
        return moved.cursor

    def _queued(
        self, work: UnitOfWork, message: SeasonalMessage, page: tuple[Farmer, ...], now: datetime
    ) -> Iterator[Recipient]:
        """Queue the texts of some plots; yield what became of each."""
        writer, days = self._writer(message.audience, message.texts), self._contexts.run(work)
        # All texts are written before the first row is, so that the writer's turn is short.
        written = [(farmer, *self._written(writer, days, farmer, now)) for farmer in page]
        for place, (farmer, words, begin) in enumerate(written):
            plot_id, phone_id = farmer.plot.id, farmer.phone.id
            if words.left_out:
                yield Recipient(message.id, plot_id, phone_id, None, words.left_out)
                continue
            letter = Letter(
                phone_id,
                "seasonal",
                f"seasonal:{message.id}:{plot_id}",
                words.text,
                words.language,
                not_before=begin,
                batch=message.id,
            )
            message_id = self._new_id()
            if Post(lambda name=message_id: name).put(work, letter, now, place):  # type: ignore[misc]
                yield Recipient(message.id, plot_id, phone_id, message_id)
            else:
                yield Recipient(message.id, plot_id, phone_id, None, "queued_before")

    def _written(
        self, writer: Writer, days: Days, farmer: Farmer, now: datetime
    ) -> tuple[Words, datetime]:
        begin, local, context = days.sending(farmer.plot.district, now)
        return writer.write(farmer, context, local), begin

    def _writer(self, audience: Audience, texts: Mapping[str, str]) -> Writer:
        return Writer(texts, audience, self._translate, self._language)

    def _pen(
        self, work: UnitOfWork, audience: Audience, texts: Mapping[str, str], now: datetime
    ) -> Callable[[Farmer], Words]:
        writer, days = self._writer(audience, texts), self._contexts.run(work)
        moment = require_aware(now).astimezone(UTC)
        return lambda farmer: self._written(writer, days, farmer, moment)[0]


def _held(message: SeasonalMessage, now: datetime) -> Wait | None:
    """Return how long a message is held back; None when it may go on."""
    if message.state == "paused":
        return Wait(now + PAUSE_WAIT, "paused")
    if message.starts_at is not None and now < message.starts_at:
        return Wait(message.starts_at, "not_yet")
    return None
