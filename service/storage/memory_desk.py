"""People, tickets, rain, accounts and choices, in memory."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from service.records import (
    Account,
    Audit,
    ConcurrentChange,
    Person,
    Phone,
    RainReport,
    ReminderChoice,
    Ticket,
    TicketNote,
    require_aware,
)
from service.storage.memory_state import State, Work

Table = Callable[[State], dict[Any, Any]]


def saved(work: Work, table: Table, record: Any) -> None:
    """Put a record in place of the kept one of its revision; ConcurrentChange otherwise."""

    def change(state: State) -> int:
        kept = table(state).get(record.id)
        if kept is None or kept.revision != record.revision:
            raise ConcurrentChange(f"{record.id} has changed")
        table(state)[record.id] = replace(record, revision=record.revision + 1)
        return 1

    work.change(change)


def added(work: Work, table: Table, key: object, record: object) -> None:
    """Keep a record under a key; ConcurrentChange when there is one."""

    def change(state: State) -> int:
        if key in table(state):
            raise ConcurrentChange("a row of the same key is already kept")
        table(state)[key] = record
        return 1

    work.change(change)


def put(work: Work, table: Table, key: object, record: object) -> None:
    """Keep a record under a key, in place of an earlier one."""

    def change(state: State) -> int:
        table(state)[key] = record
        return 1

    work.change(change)


class MemoryPeople:
    """Names behind the phones."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, person: Person) -> None:
        require_aware(person.created_at)
        added(self._work, lambda state: state.people, person.id, person)

    def save(self, person: Person) -> None:
        saved(self._work, lambda state: state.people, person)

    def get(self, person_id: str) -> Person | None:
        return self._work.read().people.get(person_id)

    def of_phone(self, phone_id: str) -> tuple[Person, ...]:
        mine = (one for one in self._work.read().people.values() if one.phone_id == phone_id)
        return tuple(sorted(mine, key=lambda one: (one.created_at, one.id)))

    def find(self, name: str, limit: int) -> tuple[tuple[Phone, Person], ...]:
        state, letters = self._work.read(), _lower(name.strip())
        found = [one for one in state.people.values() if letters in _lower(one.name)]
        found.sort(key=lambda one: (one.name, one.id))
        return tuple((state.phones[one.phone_id], one) for one in found[:limit])


def _lower(name: str) -> str:
    # As databases do it everywhere: letters of other scripts are compared as they are.
    return "".join(one.lower() if one.isascii() else one for one in name)


class MemoryTickets:
    """Matters for a person."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, ticket: Ticket) -> bool:
        require_aware(ticket.opened_at)

        def change(state: State) -> int:
            if any(ticket.dedupe_key == one.dedupe_key for one in state.tickets.values()):
                return 0
            state.tickets[ticket.id] = ticket
            return 1

        return self._work.change(change) == 1

    def save(self, ticket: Ticket) -> None:
        saved(self._work, lambda state: state.tickets, ticket)

    def get(self, ticket_id: str) -> Ticket | None:
        return self._work.read().tickets.get(ticket_id)

    def waiting(self, limit: int = 200) -> tuple[Ticket, ...]:
        found = [one for one in self._all() if one.state != "closed"]
        found.sort(key=lambda one: (not one.danger, one.opened_at, one.id))
        return tuple(found[:limit])

    def of_phone(self, phone_id: str) -> tuple[Ticket, ...]:
        return _newest([one for one in self._all() if one.phone_id == phone_id])

    def since(self, moment: datetime, limit: int = 2000) -> tuple[Ticket, ...]:
        return _newest([one for one in self._all() if one.opened_at >= moment])[:limit]

    def to_ask(self, day: date, limit: int = 500, since: date | None = None) -> tuple[Ticket, ...]:
        found = [
            one
            for one in self._all()
            if one.state == "closed"
            and one.worked is None
            and one.ask_on is not None
            and (since or date.min) <= one.ask_on <= day
        ]
        found.sort(key=lambda one: one.id)
        found.sort(key=lambda one: one.ask_on or day, reverse=True)
        return tuple(found[:limit])

    def add_note(self, note: TicketNote) -> None:
        require_aware(note.at)
        added(self._work, lambda state: state.notes, note.id, note)

    def notes(self, ticket_id: str) -> tuple[TicketNote, ...]:
        mine = (one for one in self._work.read().notes.values() if one.ticket_id == ticket_id)
        return tuple(sorted(mine, key=lambda one: (one.at, one.id)))

    def _all(self) -> tuple[Ticket, ...]:
        return tuple(self._work.read().tickets.values())


def _newest(tickets: list[Ticket]) -> tuple[Ticket, ...]:
    return tuple(sorted(tickets, key=lambda one: (one.opened_at, one.id), reverse=True))


class MemoryRain:
    """Rain reports."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def put(self, report: RainReport) -> None:
        require_aware(report.reported_at)
        put(self._work, lambda state: state.rain, (report.district, report.day), report)

    def of_district(self, district: str, since: date) -> tuple[RainReport, ...]:
        return tuple(one for one in self.since(since) if one.district == district)

    def since(self, since: date) -> tuple[RainReport, ...]:
        found = (one for one in self._work.read().rain.values() if one.day >= since)
        return tuple(sorted(found, key=lambda one: (one.district, one.day)))


class MemoryAccounts:
    """Who may sign in, and the log."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, account: Account) -> None:
        require_aware(account.created_at)

        def change(state: State) -> int:
            if any(_key(account.name) == _key(one.name) for one in state.accounts.values()):
                raise ConcurrentChange("the name is taken")
            state.accounts[account.id] = account
            return 1

        self._work.change(change)

    def save(self, account: Account) -> None:
        saved(self._work, lambda state: state.accounts, account)

    def get(self, account_id: str) -> Account | None:
        return self._work.read().accounts.get(account_id)

    def named(self, name: str) -> Account | None:
        accounts = self._work.read().accounts.values()
        return next((one for one in accounts if _key(one.name) == _key(name)), None)

    def all(self) -> tuple[Account, ...]:
        accounts = self._work.read().accounts.values()
        return tuple(sorted(accounts, key=lambda one: _key(one.name)))

    def log(self, line: Audit) -> None:
        require_aware(line.at)
        added(self._work, lambda state: state.audit, line.id, line)

    def lines(
        self,
        *,
        subject_id: str = "",
        account_id: str = "",
        actions: Sequence[str] = (),
        since: datetime | None = None,
        limit: int = 200,
    ) -> tuple[Audit, ...]:
        found = [
            one
            for one in self._work.read().audit.values()
            if (not subject_id or one.subject_id == subject_id)
            and (not account_id or one.account_id == account_id)
            and (not actions or one.action in actions)
            and (since is None or one.at >= since)
        ]
        return tuple(sorted(found, key=lambda one: (one.at, one.id), reverse=True)[:limit])


def _key(name: str) -> str:
    return name.casefold().strip()


class MemoryChoices:
    """When phones want their reminders."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def get(self, phone_id: str) -> ReminderChoice | None:
        return self._work.read().choices.get(phone_id)

    def put(self, choice: ReminderChoice) -> None:
        require_aware(choice.chosen_at)
        put(self._work, lambda state: state.choices, choice.phone_id, choice)
