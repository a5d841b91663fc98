"""The outbox in memory."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from service.records import Claimed, Message, Receipt, Settlement, require_aware
from service.records.message import State as Standing
from service.records.message import before
from service.storage.memory_state import State, Submission, Work
from service.storage.memory_tables import latest
from service.storage.outbox import Parts, day_of
from service.storage.outbox_statements import GIVEN_UP_STATES

_ACTING = ("queued", "leased", "uncertain")
_AWAITED = ("submitting", "uncertain", "accepted")


class MemoryOutbox:
    """The table of messages to be sent, with their receipts."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, message: Message) -> bool:
        require_aware(message.not_before)

        def change(state: State) -> int:
            if any(message.dedupe_key == one.dedupe_key for one in state.outbox.values()):
                return 0
            state.outbox[message.id] = message
            return 1

        return self._work.change(change) == 1

    def known(self, keys: Sequence[str]) -> frozenset[str]:
        kept = {one.dedupe_key for one in self._work.read().outbox.values()}
        return frozenset(kept.intersection(keys))

    def due(self, now: datetime) -> bool:
        return any(_due(one, now) for one in self._work.read().outbox.values())

    def oldest_due(self, now: datetime) -> datetime | None:
        waiting = (one.not_before for one in self._work.read().outbox.values() if _due(one, now))
        return min(waiting, default=None)

    def doubt(self, now: datetime, next_try: datetime) -> int:
        def change(state: State) -> int:
            lost = [
                one for one in state.outbox.values() if one.state == "submitting" and _due(one, now)
            ]
            for one in lost:
                since = one.uncertain_since or now
                state.outbox[one.id] = replace(
                    one, state="uncertain", uncertain_since=since, next_try=next_try
                )
            return len(lost)

        return self._work.change(change)

    def claim(self, owner: str, now: datetime, until: datetime, limit: int) -> tuple[Claimed, ...]:
        def change(state: State) -> int:
            free = sorted(
                (one for one in state.outbox.values() if _free(one, state, now)), key=_urgency
            )
            for one in free[:limit]:
                state.outbox[one.id] = replace(
                    one, state="leased", lease_owner=owner, next_try=until
                )
            return len(free[:limit])

        if not self._work.change(change):
            return ()
        state = self._work.read()
        mine = [
            one
            for one in state.outbox.values()
            if (one.lease_owner, one.state) == (owner, "leased")
        ]
        return tuple(_claimed(one, state) for one in sorted(mine, key=_urgency))

    def submitting(self, owner: str, until: datetime) -> int:
        def change(state: State) -> int:
            mine = [
                one
                for one in state.outbox.values()
                if (one.lease_owner, one.state) == (owner, "leased")
            ]
            for one in mine:
                state.outbox[one.id] = replace(
                    one,
                    state="submitting",
                    attempts=one.attempts + 1,
                    resends=one.resends + (one.uncertain_since is not None),
                    next_try=until,
                )
            return len(mine)

        return self._work.change(change)

    def settle(self, message_id: str, owner: str, settlement: Settlement) -> bool:
        values: dict[str, Any] = {
            name: getattr(settlement, name)
            for name in Settlement.__slots__
            if name not in ("message_ids", "nobody")
        }

        def change(one: Message) -> Message | None:
            if one.lease_owner != owner or one.state not in ("leased", "submitting"):
                return None
            return replace(one, **values)

        settled = self._changed(message_id, change)
        ended = settlement.settled_at
        if settled and settlement.nobody and ended is not None:
            self._work.change(lambda state: _nobody(state, message_id, ended))
        self._submitted(message_id, settlement.message_ids)
        return settled

    def accepted(self, message_id: str, part_ids: Sequence[str], at: datetime) -> None:
        def change(state: State) -> int:
            for part in part_ids:
                state.submissions.setdefault(part, Submission(message_id, "accepted"))
            known = _parts(message_id, state)
            if message_id in state.outbox and (not part_ids or known.all_told):
                _forward(message_id, "accepted", at, state)
            return 1

        self._work.change(change)
        self._submitted(message_id, part_ids)

    def _submitted(self, message_id: str, part_ids: Sequence[str]) -> None:
        def change(state: State) -> int:
            for part in part_ids:
                state.submissions.setdefault(part, Submission(message_id, "accepted"))
            early = [one for one in state.receipts.values() if one.message_id in part_ids]
            for receipt in sorted(early, key=lambda one: (one.received_at, one.id)):
                _apply(receipt, state)
            return len(part_ids)

        self._work.change(change)

    def receive(self, receipt: Receipt) -> bool:
        require_aware(receipt.received_at)

        def change(state: State) -> int:
            kept = state.receipts.values()
            if not any((one.message_id, one.state) == _once(receipt) for one in kept):
                state.receipts[receipt.id] = receipt
            return int(_apply(receipt, state))

        return self._work.change(change) == 1

    def awaited(self, number: str) -> tuple[Message, ...]:
        state = self._work.read()
        found = [
            one
            for one in state.outbox.values()
            if one.state in _AWAITED and state.phones[one.phone_id].number == number
        ]
        found.sort(key=lambda one: one.id)
        found.sort(key=lambda one: one.created_at, reverse=True)
        return tuple(found[:50])

    def unheard(self, before: datetime, now: datetime) -> int:
        def change(state: State) -> int:
            found = [
                one
                for one in state.outbox.values()
                if one.state == "accepted" and one.not_after < before
            ]
            for one in found:
                state.outbox[one.id] = replace(
                    one, state="unknown", reason="no receipt came", settled_at=now
                )
            return len(found)

        return self._work.change(change)

    def age(self, before: datetime, limit: int) -> int:
        return self._work.change(lambda state: _aged(state, before, limit))

    def get(self, message_id: str) -> Message | None:
        return self._work.read().outbox.get(message_id)

    def of_phone(self, phone_id: str, limit: int = 20) -> tuple[Message, ...]:
        mine = (one for one in self._work.read().outbox.values() if one.phone_id == phone_id)
        ordered = sorted(mine, key=lambda one: (one.created_at, one.place, one.id), reverse=True)
        return tuple(ordered[:limit])

    def counts(self) -> dict[Standing, int]:
        return dict(Counter(one.state for one in self._work.read().outbox.values()))

    def given_up(self, limit: int = 100) -> tuple[tuple[Message, str], ...]:
        state = self._work.read()
        ended = [
            one for one in state.outbox.values() if not one.open and one.state in GIVEN_UP_STATES
        ]
        ended.sort(key=lambda one: one.id)
        ended.sort(key=lambda one: one.settled_at or one.next_try, reverse=True)
        return tuple((one, state.phones[one.phone_id].number) for one in ended[:limit])

    def _changed(self, message_id: str, change: Callable[[Message], Message | None]) -> bool:
        def changed(state: State) -> int:
            one = state.outbox.get(message_id)
            new = change(one) if one else None
            if new is None:
                return 0
            state.outbox[message_id] = new
            return 1

        return self._work.change(changed) == 1


def _due(one: Message, now: datetime) -> bool:
    return one.open and one.next_try <= now


def _order(one: Message) -> tuple[object, ...]:
    return one.not_before, one.created_at, one.place, one.id


def _urgency(one: Message) -> tuple[object, ...]:
    return one.priority, *_order(one)


def _free(one: Message, state: State, now: datetime) -> bool:
    return (
        _due(one, now)
        and one.state in _ACTING
        and not _paused(one, state)
        and not any(
            _holds_up(other, one) and not _paused(other, state) for other in state.outbox.values()
        )
    )


def _paused(one: Message, state: State) -> bool:
    """Whether a row belongs to a seasonal message that is paused or cancelled."""
    batch = state.seasonals.get(one.batch)
    return batch is not None and batch.state in ("paused", "cancelled")


def _holds_up(other: Message, one: Message) -> bool:
    same = other.phone_id == one.phone_id and other.open and other.priority <= one.priority
    return same and other.id != one.id and _order(other) < _order(one)


def _claimed(one: Message, state: State) -> Claimed:
    word = latest(state, one.phone_id)
    phone = state.phones[one.phone_id]
    plots = (each for each in state.plots.values() if each.phone_id == phone.id and each.current)
    district = next((each.district for each in plots), "")
    return Claimed(one, phone.number, word.given if word else None, phone.failed_days, district)


def _once(receipt: Receipt) -> tuple[str, str]:
    return receipt.message_id, receipt.state


def _apply(receipt: Receipt, state: State) -> bool:
    if receipt.message_id in state.outbox:
        _forward(receipt.message_id, receipt.state, receipt.at, state)
        return True
    part = state.submissions.get(receipt.message_id)
    if part is None:
        return False
    if part.state in before(receipt.state):
        state.submissions[receipt.message_id] = part._replace(state=receipt.state)
    if whole := _parts(part.outbox_id, state).whole:
        _forward(part.outbox_id, whole, receipt.at, state)
    return True


def _forward(message_id: str, new: Standing, at: datetime, state: State) -> None:
    one = state.outbox[message_id]
    if one.state not in before(new):
        return
    state.outbox[message_id] = replace(one, state=new, open=False, settled_at=at)
    if new == "failed":
        _nobody(state, message_id, at)
    elif new == "delivered":
        phone = state.phones[one.phone_id]
        state.phones[phone.id] = replace(phone, failed_days=0, failed_on=None)


def _nobody(state: State, message_id: str, at: datetime) -> int:
    phone = state.phones[state.outbox[message_id].phone_id]
    if phone.failed_on is not None and phone.failed_on >= day_of(at):
        return 0
    state.phones[phone.id] = replace(phone, failed_days=phone.failed_days + 1, failed_on=at)
    return 1


def _parts(message_id: str, state: State) -> Parts:
    found = [one.state for one in state.submissions.values() if one.outbox_id == message_id]
    message = state.outbox.get(message_id)
    return Parts(tuple(found), message.parts if message else 1)


def _aged(state: State, before: datetime, limit: int) -> int:
    ended = [
        one
        for one in state.outbox.values()
        if not one.open and one.settled_at is not None and one.settled_at < before
    ]
    ids = {one.id for one in sorted(ended, key=lambda one: (one.settled_at, one.id))[:limit]}
    parts = [id_ for id_, one in state.submissions.items() if one.outbox_id in ids]
    heard = [one.id for one in state.receipts.values() if one.received_at < before][:limit]
    for id_ in parts:
        del state.submissions[id_]
    for id_ in ids:
        del state.outbox[id_]
    for id_ in heard:
        del state.receipts[id_]
    return len(parts) + len(ids) + len(heard)
