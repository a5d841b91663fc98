"""People, tickets, rain, accounts and choices, over SQLAlchemy Core."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import Select, bindparam, delete, func, select

from service.records import (
    Account,
    Audit,
    Person,
    Phone,
    RainReport,
    ReminderChoice,
    Ticket,
    TicketNote,
)
from service.storage.desk_tables import (
    account,
    audit,
    person,
    person_group,
    rain_report,
    reminder_choice,
    ticket,
    ticket_note,
)
from service.storage.kept_rows import KeptRows, insert_in_place
from service.storage.outbox import Work
from service.storage.outbox_statements import unless_kept
from service.storage.rows import PHONE_COLUMNS, phone_record
from service.storage.tables import phone

PEOPLE = KeptRows(person, Person, {"groups": (list, tuple)})
TICKETS = KeptRows(ticket, Ticket, {"so_far": (dict, dict)})
NOTES = KeptRows(ticket_note, TicketNote)
RAIN = KeptRows(rain_report, RainReport)
ACCOUNTS = KeptRows(
    account,
    Account,
    {"roles": (list, tuple), "districts": (list, tuple)},
    {"name_key": lambda one: name_key(one.name)},
)
AUDIT = KeptRows(audit, Audit, {"detail": (dict, dict)})
CHOICES = KeptRows(reminder_choice, ReminderChoice)


def name_key(name: str) -> str:
    """Return a name as names are compared: case and outer spaces aside, in every script."""
    return name.casefold().strip()


_PERSON: Select[Any] = select(*PEOPLE.columns).where(person.c.id == bindparam("person_id"))
_PEOPLE_OF: Select[Any] = (
    select(*PEOPLE.columns)
    .where(person.c.phone_id == bindparam("phone_id"))
    .order_by(person.c.created_at, person.c.id)
)
_NAMED_LIKE: Select[Any] = (
    select(*PEOPLE.columns, *phone.columns)
    .join(phone, phone.c.id == person.c.phone_id)
    .where(func.lower(person.c.name).like(bindparam("pattern"), escape="\\"))
    .order_by(person.c.name, person.c.id)
    .limit(bindparam("most"))
)


class SqlPeople:
    """Names behind the phones."""

    def __init__(self, work: Work, dialect: str) -> None:
        self._work, self._dialect = work, dialect

    def add(self, person_: Person) -> None:
        self._work.write(PEOPLE.add, PEOPLE.row(person_))
        self._group(person_)

    def add_all(self, people: Sequence[Person]) -> None:
        """Keep many people."""
        self._work.write_all(PEOPLE.add, [PEOPLE.row(one) for one in people])
        groups = [{"person_id": one.id, "name": name} for one in people for name in one.groups]
        self._work.write_all(unless_kept(person_group, self._dialect), groups)

    def save(self, person_: Person) -> None:
        PEOPLE.save(self._work, person_)
        gone = delete(person_group).where(person_group.c.person_id == person_.id)
        self._work.write(gone, {})
        self._group(person_)

    def _group(self, person_: Person) -> None:
        once = unless_kept(person_group, self._dialect)
        for name in person_.groups:
            self._work.write(once, {"person_id": person_.id, "name": name})

    def get(self, person_id: str) -> Person | None:
        return PEOPLE.first(self._work, _PERSON, {"person_id": person_id})

    def of_phone(self, phone_id: str) -> tuple[Person, ...]:
        return PEOPLE.all(self._work, _PEOPLE_OF, {"phone_id": phone_id})

    def find(self, name: str, limit: int) -> tuple[tuple[Phone, Person], ...]:
        # SQLite's lower() knows ASCII only, so the rest of the letters are compared as they are.
        letters = "".join(f"\\{one}" if one in "\\%_" else one for one in _lower(name))
        values = {"pattern": f"%{letters}%", "most": limit}
        rows = self._work.connection.execute(_NAMED_LIKE, values).all()
        width = len(PEOPLE.columns)
        return tuple(
            (phone_record(row[width : width + len(PHONE_COLUMNS)]), PEOPLE.record(row))
            for row in rows
        )


def _lower(name: str) -> str:
    return "".join(one.lower() if one.isascii() else one for one in name.strip())


_TICKET: Select[Any] = select(*TICKETS.columns).where(ticket.c.id == bindparam("ticket_id"))
_WAITING: Select[Any] = (
    select(*TICKETS.columns)
    .where(ticket.c.state != "closed")
    .order_by(ticket.c.danger == "", ticket.c.opened_at, ticket.c.id)
    .limit(bindparam("most"))
)
_TICKETS_OF: Select[Any] = (
    select(*TICKETS.columns)
    .where(ticket.c.phone_id == bindparam("phone_id"))
    .order_by(ticket.c.opened_at.desc(), ticket.c.id.desc())
)
_OPENED_SINCE: Select[Any] = (
    select(*TICKETS.columns)
    .where(ticket.c.opened_at >= bindparam("moment", type_=ticket.c.opened_at.type))
    .order_by(ticket.c.opened_at.desc(), ticket.c.id.desc())
    .limit(bindparam("most"))
)
_TO_ASK: Select[Any] = (
    select(*TICKETS.columns)
    .where(
        ticket.c.ask_on.isnot(None),
        ticket.c.worked.is_(None),
        ticket.c.state == "closed",
        ticket.c.ask_on <= bindparam("day", type_=ticket.c.ask_on.type),
        ticket.c.ask_on >= bindparam("first", type_=ticket.c.ask_on.type),
    )
    .order_by(ticket.c.ask_on.desc(), ticket.c.id)
    .limit(bindparam("most"))
)
_NOTES_OF: Select[Any] = (
    select(*NOTES.columns)
    .where(ticket_note.c.ticket_id == bindparam("ticket_id"))
    .order_by(ticket_note.c.at, ticket_note.c.id)
)


class SqlTickets:
    """Matters for a person."""

    def __init__(self, work: Work, dialect: str) -> None:
        self._work, self._dialect = work, dialect

    def add(self, ticket_: Ticket) -> bool:
        return self._work.write(unless_kept(ticket, self._dialect), TICKETS.row(ticket_)) == 1

    def save(self, ticket_: Ticket) -> None:
        TICKETS.save(self._work, ticket_)

    def get(self, ticket_id: str) -> Ticket | None:
        return TICKETS.first(self._work, _TICKET, {"ticket_id": ticket_id})

    def waiting(self, limit: int = 200) -> tuple[Ticket, ...]:
        return TICKETS.all(self._work, _WAITING, {"most": limit})

    def of_phone(self, phone_id: str) -> tuple[Ticket, ...]:
        return TICKETS.all(self._work, _TICKETS_OF, {"phone_id": phone_id})

    def since(self, moment: datetime, limit: int = 2000) -> tuple[Ticket, ...]:
        return TICKETS.all(self._work, _OPENED_SINCE, {"moment": moment, "most": limit})

    def to_ask(self, day: date, limit: int = 500, since: date | None = None) -> tuple[Ticket, ...]:
        values = {"day": day, "first": since or date.min, "most": limit}
        return TICKETS.all(self._work, _TO_ASK, values)

    def add_note(self, note: TicketNote) -> None:
        self._work.write(NOTES.add, NOTES.row(note))

    def notes(self, ticket_id: str) -> tuple[TicketNote, ...]:
        return NOTES.all(self._work, _NOTES_OF, {"ticket_id": ticket_id})


_SINCE = bindparam("since", type_=rain_report.c.day.type)
_RAIN_SINCE: Select[Any] = (
    select(*RAIN.columns)
    .where(rain_report.c.day >= _SINCE)
    .order_by(rain_report.c.district, rain_report.c.day)
)
_RAIN_OF: Select[Any] = _RAIN_SINCE.where(rain_report.c.district == bindparam("one_district"))


class SqlRain:
    """Rain reports."""

    def __init__(self, work: Work, dialect: str) -> None:
        self._work, self._dialect = work, dialect

    def put(self, report: RainReport) -> None:
        statement = insert_in_place(rain_report, self._dialect, ("district", "day"))
        self._work.write(statement, RAIN.row(report))

    def of_district(self, district: str, since: date) -> tuple[RainReport, ...]:
        return RAIN.all(self._work, _RAIN_OF, {"one_district": district, "since": since})

    def since(self, since: date) -> tuple[RainReport, ...]:
        return RAIN.all(self._work, _RAIN_SINCE, {"since": since})


_ACCOUNT: Select[Any] = select(*ACCOUNTS.columns).where(account.c.id == bindparam("account_id"))
_NAMED: Select[Any] = select(*ACCOUNTS.columns).where(account.c.name_key == bindparam("key"))
_ACCOUNTS: Select[Any] = select(*ACCOUNTS.columns).order_by(account.c.name_key)


class SqlAccounts:
    """Who may sign in, and the log."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, account_: Account) -> None:
        self._work.write(ACCOUNTS.add, ACCOUNTS.row(account_))

    def save(self, account_: Account) -> None:
        ACCOUNTS.save(self._work, account_)

    def get(self, account_id: str) -> Account | None:
        return ACCOUNTS.first(self._work, _ACCOUNT, {"account_id": account_id})

    def named(self, name: str) -> Account | None:
        return ACCOUNTS.first(self._work, _NAMED, {"key": name_key(name)})

    def all(self) -> tuple[Account, ...]:
        return ACCOUNTS.all(self._work, _ACCOUNTS, {})

    def log(self, line: Audit) -> None:
        self._work.write(AUDIT.add, AUDIT.row(line))

    def lines(
        self,
        *,
        subject_id: str = "",
        account_id: str = "",
        actions: Sequence[str] = (),
        since: datetime | None = None,
        limit: int = 200,
    ) -> tuple[Audit, ...]:
        wanted = select(*AUDIT.columns).order_by(audit.c.at.desc(), audit.c.id.desc()).limit(limit)
        if subject_id:
            wanted = wanted.where(audit.c.subject_id == subject_id)
        if account_id:
            wanted = wanted.where(audit.c.account_id == account_id)
        if actions:
            wanted = wanted.where(audit.c.action.in_(list(actions)))
        if since is not None:
            wanted = wanted.where(audit.c.at >= since)
        return AUDIT.all(self._work, wanted, {})


_CHOICE: Select[Any] = select(*CHOICES.columns).where(
    reminder_choice.c.phone_id == bindparam("one_phone")
)


class SqlChoices:
    """When phones want their reminders."""

    def __init__(self, work: Work, dialect: str) -> None:
        self._work, self._dialect = work, dialect

    def get(self, phone_id: str) -> ReminderChoice | None:
        return CHOICES.first(self._work, _CHOICE, {"one_phone": phone_id})

    def put(self, choice: ReminderChoice) -> None:
        statement = insert_in_place(reminder_choice, self._dialect, ("phone_id",))
        self._work.write(statement, CHOICES.row(choice))
