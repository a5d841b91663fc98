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
from service.storage.outbox import state_of_parts

_ACTING = ("queued", "leased", "uncertain")


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

    def due(self, now: datetime) -> bool:
        return any(_due(one, now) for one in self._work.read().outbox.values())

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
            if name != "message_ids"
        }

        def change(one: Message) -> Message | None:
            if one.lease_owner != owner or one.state not in ("leased", "submitting"):
                return None
            return replace(one, **values)

        settled = self._changed(message_id, change)
        self._submitted(message_id, settlement.message_ids)
        return settled

    def accepted(self, message_id: str, part_ids: Sequence[str], at: datetime) -> None:
        def change(state: State) -> int:
            if message_id in state.outbox:
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

    def get(self, message_id: str) -> Message | None:
        return self._work.read().outbox.get(message_id)

    def counts(self) -> dict[Standing, int]:
        return dict(Counter(one.state for one in self._work.read().outbox.values()))

    def given_up(self, limit: int = 100) -> tuple[tuple[Message, str], ...]:
        state = self._work.read()
        ended = [
            one
            for one in state.outbox.values()
            if not one.open and one.state in ("failed", "expired", "uncertain")
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
        and not any(_holds_up(other, one) for other in state.outbox.values())
    )


def _holds_up(other: Message, one: Message) -> bool:
    same = other.phone_id == one.phone_id and other.open and other.priority <= one.priority
    return same and other.id != one.id and _order(other) < _order(one)


def _claimed(one: Message, state: State) -> Claimed:
    word = latest(state, one.phone_id)
    return Claimed(one, state.phones[one.phone_id].number, word.given if word else None)


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
    states = [one.state for one in state.submissions.values() if one.outbox_id == part.outbox_id]
    if whole := state_of_parts(states):
        _forward(part.outbox_id, whole, receipt.at, state)
    return True


def _forward(message_id: str, new: Standing, at: datetime, state: State) -> None:
    one = state.outbox[message_id]
    if one.state in before(new):
        state.outbox[message_id] = replace(one, state=new, open=False, settled_at=at)
