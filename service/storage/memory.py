"""A store without a database, for tests: it keeps the same promises and passes the same tests."""

from __future__ import annotations

from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass, field, replace
from threading import RLock
from types import TracebackType
from typing import Self

from service.records import Caller
from service.storage.memory_desk import (
    MemoryAccounts,
    MemoryChoices,
    MemoryPeople,
    MemoryRain,
    MemoryTickets,
)
from service.storage.memory_farmers import MemoryFarmers, MemorySeasonals
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
    """What has been committed. `unit_of_work` opens a transaction on it.

    `lock` is held from a first write to its commit, as SQLite's is; reading needs none.
    """

    state: State = field(default_factory=State)
    lock: AbstractContextManager[bool] = field(default_factory=RLock)

    def unit_of_work(self) -> MemoryUnitOfWork:
        """Return a new unit of work over this store."""
        return MemoryUnitOfWork(self)


class MemoryUnitOfWork:
    """Changes are tried on the spot, and made again at commit."""

    def __init__(self, store: MemoryStore) -> None:
        self._store = store
        self._changes: list[Change] = []
        self._holds = ExitStack()
        self._writing = False

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

    @property
    def people(self) -> MemoryPeople:
        return MemoryPeople(self)

    @property
    def farmers(self) -> MemoryFarmers:
        return MemoryFarmers(self)

    @property
    def tickets(self) -> MemoryTickets:
        return MemoryTickets(self)

    @property
    def rain(self) -> MemoryRain:
        return MemoryRain(self)

    @property
    def accounts(self) -> MemoryAccounts:
        return MemoryAccounts(self)

    @property
    def seasonals(self) -> MemorySeasonals:
        return MemorySeasonals(self)

    @property
    def choices(self) -> MemoryChoices:
        return MemoryChoices(self)

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
        return self._state()

    def change(self, change: Change) -> int:
        """Try a change now, so that a clash is told at once, and keep it for `commit`.

        A writer of another thread waits here until this unit of work ends.
        """
        if not self._writing:
            self._holds.enter_context(self._store.lock)
            self._writing = True
        touched = change(self.read())
        self._changes.append(change)
        return touched

    def commit(self) -> None:
        if self._writing:
            self._store.state = self._state()
        self.rollback()

    def rollback(self) -> None:
        self._changes.clear()
        self._writing = False
        self._holds.close()

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
