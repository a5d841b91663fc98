"""A store without a database, for tests: it keeps the same promises and passes the same tests."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from threading import Lock
from types import TracebackType
from typing import Self

from service.records import Caller
from service.storage.memory_outbox import MemoryOutbox
from service.storage.memory_state import Change, State
from service.storage.memory_tables import (
    MemoryConsents,
    MemoryInbox,
    MemoryPhones,
    MemoryPlots,
    MemorySessions,
)


@dataclass
class MemoryStore:
    """What has been committed. `unit_of_work` opens a transaction on it."""

    state: State = field(default_factory=State)
    lock: Lock = field(default_factory=Lock)

    def unit_of_work(self) -> MemoryUnitOfWork:
        """Return a new unit of work over this store."""
        return MemoryUnitOfWork(self)


class MemoryUnitOfWork:
    """Changes are tried on the spot, and made again on the newest state at commit."""

    def __init__(self, store: MemoryStore) -> None:
        self._store = store
        self._changes: list[Change] = []

    @property
    def phones(self) -> MemoryPhones:
        return MemoryPhones(self)

    @property
    def sessions(self) -> MemorySessions:
        return MemorySessions(self)

    @property
    def plots(self) -> MemoryPlots:
        return MemoryPlots(self)

    @property
    def inbox(self) -> MemoryInbox:
        return MemoryInbox(self)

    @property
    def consents(self) -> MemoryConsents:
        return MemoryConsents(self)

    @property
    def outbox(self) -> MemoryOutbox:
        return MemoryOutbox(self)

    def caller(self, number: str, channel: str, gateway_session: str) -> Caller:
        state = self.read()
        phone = self.phones.find(number)
        if phone is None:
            return Caller(None, None, None)
        mine = [
            one
            for one in state.sessions.values()
            if one.phone_id == phone.id and one.channel == channel
        ]
        return Caller(
            phone,
            next((one for one in mine if one.gateway_session == gateway_session), None),
            next((one for one in mine if one.open), None),
            next((one for one in self.plots.of_phone(phone.id) if one.current), None),
        )

    def read(self) -> State:
        """Return the state as this unit of work sees it."""
        with self._store.lock:
            return self._state()

    def change(self, change: Change) -> int:
        """Try a change now, so that a clash is told at once, and keep it for `commit`."""
        touched = change(self.read())
        self._changes.append(change)
        return touched

    def commit(self) -> None:
        with self._store.lock:
            self._store.state = self._state()
        self._changes.clear()

    def rollback(self) -> None:
        self._changes.clear()

    def _state(self) -> State:
        state = replace(
            self._store.state,
            **{name: dict(getattr(self._store.state, name)) for name in State.__slots__},
        )
        for change in self._changes:
            change(state)
        return state

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.rollback()
