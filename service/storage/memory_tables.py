"""Phones, sessions, plots, texts that came in and consent, in memory."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from service.records import (
    ConcurrentChange,
    Consent,
    Inbound,
    Phone,
    Plot,
    Purpose,
    Review,
    Session,
    require_aware,
)
from service.storage.memory_state import State, Work


class MemoryPhones:
    """The table of numbers."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, phone: Phone) -> None:
        require_aware(phone.created_at)

        def change(state: State) -> int:
            if any(phone.number == other.number for other in state.phones.values()):
                raise ConcurrentChange("the number is already kept")
            state.phones[phone.id] = phone
            return 1

        self._work.change(change)

    def get(self, phone_id: str) -> Phone | None:
        return self._work.read().phones.get(phone_id)

    def ending(self, digits: str, limit: int) -> tuple[Phone, ...]:
        end = "".join(filter(str.isdigit, digits))
        found = (one for one in self._work.read().phones.values() if one.number.endswith(end))
        return tuple(sorted(found, key=lambda one: one.number)[:limit])

    def set_language(self, phone_id: str, language: str) -> None:
        def change(state: State) -> int:
            if phone_id not in state.phones:
                return 0
            state.phones[phone_id] = replace(state.phones[phone_id], language=language)
            return 1

        self._work.change(change)

    def find(self, number: str) -> Phone | None:
        phones = self._work.read().phones.values()
        return next((one for one in phones if one.number == number), None)

    def reached(self, phone_id: str) -> None:
        def change(state: State) -> int:
            if phone_id not in state.phones:
                return 0
            found = state.phones[phone_id]
            state.phones[phone_id] = replace(found, failed_days=0, failed_on=None)
            return 1

        self._work.change(change)

    def number(self, phone_id: str) -> str | None:
        phone = self._work.read().phones.get(phone_id)
        return phone.number if phone else None


class MemorySessions:
    """The table of conversations."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, session: Session) -> None:
        require_aware(session.updated_at)

        def change(state: State) -> int:
            if session.phone_id not in state.phones:
                raise ConcurrentChange("a session of a phone that is not kept")
            others = state.sessions.values()
            if session.id in state.sessions or any(_clash(session, other) for other in others):
                raise ConcurrentChange("a session of the same key is already kept")
            state.sessions[session.id] = session
            return 1

        self._work.change(change)

    def get(self, session_id: str) -> Session | None:
        return self._work.read().sessions.get(session_id)

    def open_of_phone(self, phone_id: str) -> tuple[Session, ...]:
        mine = [
            one
            for one in self._work.read().sessions.values()
            if one.phone_id == phone_id and one.open
        ]
        mine.sort(key=lambda one: one.id)
        return tuple(sorted(mine, key=lambda one: one.updated_at, reverse=True))

    def save(self, session: Session) -> None:
        require_aware(session.updated_at)

        def change(state: State) -> int:
            kept = state.sessions.get(session.id)
            if kept is None or kept.revision != session.revision:
                raise ConcurrentChange(f"session {session.id} has moved on")
            others = (one for one in state.sessions.values() if one.id != session.id)
            if any(_clash(session, other) for other in others):
                raise ConcurrentChange("another session of the same key is kept")
            state.sessions[session.id] = replace(session, revision=session.revision + 1)
            return 1

        self._work.change(change)

    def age(self, before: datetime, limit: int) -> int:
        def change(state: State) -> int:
            old = [one.id for one in state.sessions.values() if one.updated_at < before][:limit]
            for id_ in old:
                del state.sessions[id_]
            return len(old)

        return self._work.change(change)


def _clash(one: Session, other: Session) -> bool:
    same_call = (one.channel, one.gateway_session) == (other.channel, other.gateway_session)
    same_caller = (one.channel, one.phone_id) == (other.channel, other.phone_id)
    return same_call or (same_caller and one.open and other.open)


class MemoryPlots:
    """The table of plots."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, plot: Plot) -> None:
        require_aware(plot.created_at)

        def change(state: State) -> int:
            _check_one_current(plot, state)
            state.plots[plot.id] = plot
            return 1

        self._work.change(change)

    def save(self, plot: Plot) -> None:
        require_aware(plot.updated_at)

        def change(state: State) -> int:
            kept = state.plots.get(plot.id)
            if kept is None or kept.revision != plot.revision:
                raise ConcurrentChange(f"plot {plot.id} has changed")
            _check_one_current(plot, state)
            state.plots[plot.id] = replace(plot, revision=plot.revision + 1)
            return 1

        self._work.change(change)

    def get(self, plot_id: str) -> Plot | None:
        return self._work.read().plots.get(plot_id)

    def of_phone(self, phone_id: str) -> tuple[Plot, ...]:
        mine = (one for one in self._work.read().plots.values() if one.phone_id == phone_id)
        return tuple(sorted(mine, key=lambda one: (one.created_at, one.id)))


def _check_one_current(plot: Plot, state: State) -> None:
    others = (one for one in state.plots.values() if one.id != plot.id)
    if plot.current and any(one.current and one.phone_id == plot.phone_id for one in others):
        raise ConcurrentChange("the phone has another current plot")


class MemoryInbox:
    """The table of texts that came in."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def find(self, gateway: str, message_id: str) -> Inbound | None:
        kept = self._work.read().inbound.values()
        return next((one for one in kept if _key(one) == (gateway, message_id)), None)

    def add(self, inbound: Inbound) -> None:
        require_aware(inbound.received_at)

        def change(state: State) -> int:
            if any(_key(inbound) == _key(other) for other in state.inbound.values()):
                raise ConcurrentChange("a text of the same key is already kept")
            state.inbound[inbound.id] = inbound
            return 1

        self._work.change(change)

    def waiting(self, like: Inbound, since: datetime) -> tuple[Inbound, ...]:
        found = (
            one
            for one in self._work.read().inbound.values()
            if one.taken_at is None and _whole(one) == _whole(like) and one.received_at >= since
        )
        return tuple(sorted(found, key=lambda one: (one.part, one.received_at)))

    def take(self, inbound: Sequence[Inbound], at: datetime) -> None:
        def change(state: State) -> int:
            for one in inbound:
                if state.inbound[one.id].taken_at is not None:
                    raise ConcurrentChange("a part of this text was taken by another")
                state.inbound[one.id] = replace(state.inbound[one.id], taken_at=at)
            return len(inbound)

        self._work.change(change)

    def of_phone(self, phone_id: str, limit: int = 20) -> tuple[Inbound, ...]:
        mine = (one for one in self._work.read().inbound.values() if one.phone_id == phone_id)
        ordered = sorted(mine, key=lambda one: (one.received_at, one.id), reverse=True)
        return tuple(ordered[:limit])

    def overdue(self, before: datetime) -> tuple[Inbound, ...]:
        waiting = [
            one
            for one in self._work.read().inbound.values()
            if one.taken_at is None and one.received_at < before
        ]
        return tuple({_whole(one): one for one in waiting}.values())

    def age(self, before: datetime, limit: int) -> int:
        def change(state: State) -> int:
            old = [one.id for one in state.inbound.values() if one.received_at < before][:limit]
            for id_ in old:
                del state.inbound[id_]
            return len(old)

        return self._work.change(change)


def _key(inbound: Inbound) -> tuple[str, str]:
    return inbound.gateway, inbound.message_id


def _whole(one: Inbound) -> tuple[object, ...]:
    return one.gateway, one.phone_id, one.recipient, one.reference, one.parts


class MemoryConsents:
    """The ledger of consent, and what a person should look at."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, consent: Consent) -> None:
        require_aware(consent.at)

        def change(state: State) -> int:
            state.consents[consent.id] = consent
            return 1

        self._work.change(change)

    def latest(self, phone_id: str, purpose: Purpose = "reminders") -> Consent | None:
        return latest(self._work.read(), phone_id, purpose)

    def of_phone(self, phone_id: str) -> tuple[Consent, ...]:
        mine = (one for one in self._work.read().consents.values() if one.phone_id == phone_id)
        return tuple(sorted(mine, key=lambda one: (one.at, one.id), reverse=True))

    def settle_review(self, review_id: str, at: datetime) -> None:
        require_aware(at)

        def change(state: State) -> int:
            kept = state.reviews.get(review_id)
            if kept is None or kept.settled_at is not None:
                return 0
            state.reviews[review_id] = replace(kept, settled_at=at)
            return 1

        self._work.change(change)

    def add_review(self, review: Review) -> None:
        require_aware(review.at)

        def change(state: State) -> int:
            state.reviews[review.id] = review
            return 1

        self._work.change(change)

    def reviews(self, limit: int = 100) -> tuple[Review, ...]:
        waiting = (one for one in self._work.read().reviews.values() if one.settled_at is None)
        return tuple(sorted(waiting, key=lambda one: (one.at, one.id))[:limit])


def latest(state: State, phone_id: str, purpose: Purpose = "reminders") -> Consent | None:
    """Return the line of the ledger that counts."""
    mine = [
        one
        for one in state.consents.values()
        if one.phone_id == phone_id and one.purpose == purpose
    ]
    return max(mine, key=lambda one: (one.at, one.id), default=None)
