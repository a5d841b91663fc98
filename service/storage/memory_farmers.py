"""Plots with whom they belong to, and seasonal messages, in memory."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from service.records import (
    Audience,
    Consent,
    Farmer,
    History,
    Message,
    Person,
    Phone,
    Plot,
    Recipient,
    SeasonalMessage,
    require_aware,
)
from service.storage.memory_desk import MemoryPeople, added, saved
from service.storage.memory_state import State, Work
from service.storage.memory_tables import MemoryConsents, MemoryPhones, MemoryPlots, latest


class MemoryFarmers:
    """Plots with whom they belong to."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def page(self, audience: Audience, after: str, limit: int) -> tuple[Farmer, ...]:
        state = self._work.read()
        plots = sorted(_current(state, audience), key=lambda one: one.id)
        return tuple(_farmer(state, one) for one in plots if one.id > after)[:limit]

    def count(self, audience: Audience) -> int:
        return sum(1 for _ in _current(self._work.read(), audience))

    def add_all(
        self,
        phones: Sequence[Phone],
        people: Sequence[Person],
        plots: Sequence[Plot],
        consents: Sequence[Consent],
    ) -> None:
        work = self._work
        for phone in phones:
            MemoryPhones(work).add(phone)
        for person in people:
            MemoryPeople(work).add(person)
        for plot in plots:
            MemoryPlots(work).add(plot)
        for consent in consents:
            MemoryConsents(work).add(consent)

    def of_phone(self, phone_id: str) -> tuple[Farmer, ...]:
        state = self._work.read()
        mine = (one for one in state.plots.values() if one.phone_id == phone_id)
        ordered = sorted(mine, key=lambda one: (one.created_at, one.id))
        return tuple(_farmer(state, one) for one in ordered)

    def districts(self) -> tuple[tuple[str, int], ...]:
        plots = _current(self._work.read(), Audience())
        return tuple(sorted(Counter(one.district for one in plots if one.district).items()))

    def groups(self, districts: Sequence[str] = ()) -> tuple[tuple[str, int], ...]:
        state = self._work.read()
        people = (state.people.get(one.person_id or "") for one in _current(
            state, Audience(districts=tuple(districts))
        ))  # fmt: skip
        return tuple(sorted(Counter(name for one in people if one for name in one.groups).items()))

    def history(self, phone_id: str) -> History | None:
        state = self._work.read()
        if phone_id not in state.phones:
            return None
        tickets = _mine(state.tickets.values(), phone_id, "opened_at")[::-1]
        numbers = {one.id for one in tickets}
        notes = (one for one in state.notes.values() if one.ticket_id in numbers)
        outbox = (one for one in state.outbox.values() if one.phone_id == phone_id)
        return History(
            state.phones[phone_id],
            _mine(state.people.values(), phone_id, "created_at"),
            _mine(state.plots.values(), phone_id, "created_at"),
            _mine(state.sessions.values(), phone_id, "updated_at"),
            _mine(state.inbound.values(), phone_id, "received_at"),
            tuple(sorted(outbox, key=lambda one: (one.created_at, one.place, one.id))),
            _mine(state.consents.values(), phone_id, "at")[::-1],
            tickets,
            tuple(sorted(notes, key=lambda one: (one.at, one.id))),
            state.choices.get(phone_id),
        )

    def erase(self, phone_id: str) -> int:
        return self._work.change(lambda state: _erased(state, phone_id))


def _mine(records: Iterable[Any], phone_id: str, moment: str) -> tuple[Any, ...]:
    found = (one for one in records if one.phone_id == phone_id)
    return tuple(sorted(found, key=lambda one: (getattr(one, moment), one.id)))


def _current(state: State, audience: Audience) -> Iterable[Plot]:
    return (one for one in state.plots.values() if one.current and _meant(state, one, audience))


def _meant(state: State, plot: Plot, audience: Audience) -> bool:
    person = state.people.get(plot.person_id or "")
    groups = set(person.groups) if person else set()
    return (
        (not audience.districts or plot.district in audience.districts)
        and (not audience.crops or plot.crop in audience.crops)
        and (not audience.languages or state.phones[plot.phone_id].language in audience.languages)
        and (not audience.groups or bool(groups & set(audience.groups)))
    )


def _farmer(state: State, plot: Plot) -> Farmer:
    word = latest(state, plot.phone_id)
    return Farmer(
        state.phones[plot.phone_id],
        plot,
        state.people.get(plot.person_id or ""),
        word.given if word else None,
        state.choices.get(plot.phone_id),
    )


def _erased(state: State, phone_id: str) -> int:
    messages = {key for key, one in state.outbox.items() if one.phone_id == phone_id}
    parts = {key for key, one in state.submissions.items() if one.outbox_id in messages}
    tickets = {key for key, one in state.tickets.items() if one.phone_id == phone_id}
    count = _without(state.receipts, lambda one: one.message_id in messages | parts)
    count += _without(state.submissions, lambda one: one.outbox_id in messages)
    count += _without(state.notes, lambda one: one.ticket_id in tickets)
    tables: tuple[dict[Any, Any], ...] = (
        state.outbox, state.tickets, state.recipients, state.sessions, state.plots,
        state.people, state.inbound, state.consents, state.reviews, state.choices,
    )  # fmt: skip
    count += sum(_without(table, lambda one: one.phone_id == phone_id) for table in tables)
    return count + _without(state.phones, lambda one: one.id == phone_id)


def _without(table: dict[Any, Any], gone: Callable[[Any], bool]) -> int:
    """Delete what is to go from a table; return how many rows."""
    keys = [key for key, one in table.items() if gone(one)]
    for key in keys:
        del table[key]
    return len(keys)


class MemorySeasonals:
    """Seasonal messages and their recipients."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, message: SeasonalMessage) -> None:
        require_aware(message.created_at)
        added(self._work, lambda state: state.seasonals, message.id, message)

    def save(self, message: SeasonalMessage) -> None:
        saved(self._work, lambda state: state.seasonals, message)

    def get(self, seasonal_id: str) -> SeasonalMessage | None:
        return self._work.read().seasonals.get(seasonal_id)

    def all(self, limit: int = 100) -> tuple[SeasonalMessage, ...]:
        kept = self._work.read().seasonals.values()
        ordered = sorted(kept, key=lambda one: (one.created_at, one.id), reverse=True)
        return tuple(ordered[:limit])

    def add_recipients(self, recipients: Sequence[Recipient]) -> None:
        def change(state: State) -> int:
            for one in recipients:
                state.recipients.setdefault((one.seasonal_id, one.plot_id), one)
            return len(recipients)

        self._work.change(change)

    def recipients(
        self, seasonal_id: str, after: str, limit: int
    ) -> tuple[tuple[Recipient, Message | None], ...]:
        state = self._work.read()
        found = [
            one
            for one in state.recipients.values()
            if one.seasonal_id == seasonal_id and one.plot_id > after
        ]
        found.sort(key=lambda one: one.plot_id)
        return tuple((one, state.outbox.get(one.message_id or "")) for one in found[:limit])

    def progress(self, seasonal_id: str) -> dict[str, int]:
        state = self._work.read()
        mine = [one for one in state.recipients.values() if one.seasonal_id == seasonal_id]
        messages = (state.outbox.get(one.message_id or "") for one in mine)
        return dict(Counter(one.state if one else "left_out" for one in messages))

    def waiting(self, seasonal_id: str) -> int:
        rows = self._work.read().outbox.values()
        return sum(1 for one in rows if one.batch == seasonal_id and one.open)

    def cancel_queued(self, seasonal_id: str, at: datetime, reason: str) -> int:
        require_aware(at)

        def change(state: State) -> int:
            found = [
                one
                for one in state.outbox.values()
                if one.batch == seasonal_id and one.state == "queued"
            ]
            for one in found:
                ended = replace(one, state="failed", open=False, reason=reason, settled_at=at)
                state.outbox[one.id] = ended
            return len(found)

        return self._work.change(change)
