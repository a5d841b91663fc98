"""Plots with whom they belong to, and everything kept about one phone, over SQLAlchemy Core."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import (
    BindParameter,
    Delete,
    Row,
    Select,
    and_,
    bindparam,
    delete,
    func,
    or_,
    select,
)

from service.records import (
    Audience,
    Consent,
    Farmer,
    History,
    Inbound,
    Person,
    Phone,
    Plot,
)
from service.storage.audience import CURRENT, conditions, next_plots
from service.storage.desk import CHOICES, NOTES, PEOPLE, SqlChoices, SqlPeople, SqlTickets
from service.storage.desk_tables import (
    person,
    person_group,
    reminder_choice,
    seasonal_recipient,
    ticket,
    ticket_note,
)
from service.storage.letters import SqlConsents
from service.storage.outbox import Work
from service.storage.outbox_statements import message_record
from service.storage.people import SqlPhones, SqlPlots
from service.storage.rows import (
    PHONE_COLUMNS,
    PLOT_COLUMNS,
    phone_record,
    phone_row,
    plot_record,
    plot_row,
    session_record,
)
from service.storage.statements import ADD_PHONE, ADD_PLOT, PLOT
from service.storage.tables import (
    consent,
    inbound,
    outbox,
    phone,
    plot,
    receipt,
    review,
    session,
    submission,
)

_LAST_WORD = (
    select(consent.c.given)
    .where(consent.c.phone_id == plot.c.phone_id, consent.c.purpose == "reminders")
    .order_by(consent.c.at.desc(), consent.c.id.desc())
    .limit(1)
    .scalar_subquery()
)
_WITH_ALL: Select[Any] = (
    select(*phone.columns, *PLOT, *PEOPLE.columns, *CHOICES.columns, _LAST_WORD)
    .select_from(plot)
    .join(phone, phone.c.id == plot.c.phone_id)
    .outerjoin(person, person.c.id == plot.c.person_id)
    .outerjoin(reminder_choice, reminder_choice.c.phone_id == plot.c.phone_id)
)
_OF_PHONE = _WITH_ALL.where(plot.c.phone_id == bindparam("one_phone")).order_by(
    plot.c.created_at, plot.c.id
)
_DISTRICTS: Select[Any] = (
    select(plot.c.district, func.count())
    .where(CURRENT, plot.c.district != "")
    .group_by(plot.c.district)
    .order_by(plot.c.district)
)
_GROUPS: Select[Any] = (
    select(person_group.c.name, func.count())
    .join(plot, plot.c.person_id == person_group.c.person_id)
    .where(CURRENT)
    .group_by(person_group.c.name)
    .order_by(person_group.c.name)
)
_PLOT_AT = len(PHONE_COLUMNS)
_PERSON_AT = _PLOT_AT + len(PLOT_COLUMNS)
_CHOICE_AT = _PERSON_AT + len(PEOPLE.columns)
_WORD_AT = _CHOICE_AT + len(CHOICES.columns)


def farmer_record(row: Row[Any]) -> Farmer:
    """Return the farmer in a row of `_WITH_ALL`."""
    someone, choice = row[_PERSON_AT:_CHOICE_AT], row[_CHOICE_AT:_WORD_AT]
    word = row[_WORD_AT]
    return Farmer(
        phone_record(row[:_PLOT_AT]),
        plot_record(row[_PLOT_AT:_PERSON_AT]),
        None if someone[0] is None else PEOPLE.record(someone),  # type: ignore[arg-type]
        None if word is None else bool(word),
        None if choice[0] is None else CHOICES.record(choice),  # type: ignore[arg-type]
    )


class SqlFarmers:
    """Plots with whom they belong to."""

    def __init__(self, work: Work, dialect: str) -> None:
        self._work, self._dialect = work, dialect

    def page(self, audience: Audience, after: str, limit: int) -> tuple[Farmer, ...]:
        wanted = _WITH_ALL.where(*next_plots(audience, after, limit))
        rows = self._work.connection.execute(wanted.order_by(plot.c.id).limit(limit)).all()
        return tuple(map(farmer_record, rows))

    def count(self, audience: Audience) -> int:
        wanted = (
            select(func.count())
            .select_from(plot)
            .join(phone, phone.c.id == plot.c.phone_id)
            .where(CURRENT, *conditions(audience))
        )
        return int(self._work.connection.execute(wanted).scalar_one())

    def add_all(
        self,
        phones: Sequence[Phone],
        people: Sequence[Person],
        plots: Sequence[Plot],
        consents: Sequence[Consent],
    ) -> None:
        self._work.write_all(ADD_PHONE, [phone_row(one) for one in phones])
        SqlPeople(self._work, self._dialect).add_all(people)
        self._work.write_all(ADD_PLOT, [plot_row(one) for one in plots])
        SqlConsents(self._work).add_all(consents)

    def of_phone(self, phone_id: str) -> tuple[Farmer, ...]:
        rows = self._work.connection.execute(_OF_PHONE, {"one_phone": phone_id}).all()
        return tuple(map(farmer_record, rows))

    def districts(self) -> tuple[tuple[str, int], ...]:
        rows = self._work.connection.execute(_DISTRICTS).all()
        return tuple((row[0], row[1]) for row in rows)

    def groups(self, districts: Sequence[str] = ()) -> tuple[tuple[str, int], ...]:
        wanted = _GROUPS.where(plot.c.district.in_(districts)) if districts else _GROUPS
        rows = self._work.connection.execute(wanted).all()
        return tuple((row[0], row[1]) for row in rows)

    def history(self, phone_id: str) -> History | None:
        someone = SqlPhones(self._work).get(phone_id)
        if someone is None:
            return None
        return History(
            someone,
            PEOPLE.all(self._work, _PEOPLE_OF, {"one_phone": phone_id}),
            SqlPlots(self._work).of_phone(phone_id),
            tuple(map(session_record, self._rows(_SESSIONS_OF, phone_id))),
            tuple(Inbound(**row._mapping) for row in self._rows(_INBOUND_OF, phone_id)),
            tuple(map(message_record, self._rows(_OUTBOX_OF, phone_id))),
            SqlConsents(self._work).of_phone(phone_id),
            SqlTickets(self._work, self._dialect).of_phone(phone_id),
            tuple(map(NOTES.record, self._rows(_NOTES_OF, phone_id))),
            SqlChoices(self._work, self._dialect).get(phone_id),
        )

    def _rows(self, statement: Select[Any], phone_id: str) -> list[Row[Any]]:
        return list(self._work.connection.execute(statement, {"one_phone": phone_id}).all())

    def erase(self, phone_id: str) -> int:
        return sum(self._work.write(one, {"one_phone": phone_id}) for one in ERASE)


_ONE: BindParameter[str] = bindparam("one_phone")
_PEOPLE_OF: Select[Any] = (
    select(*PEOPLE.columns)
    .where(person.c.phone_id == _ONE)
    .order_by(person.c.created_at, person.c.id)
)
_SESSIONS_OF: Select[Any] = (
    select(*session.columns)
    .where(session.c.phone_id == _ONE)
    .order_by(session.c.updated_at, session.c.id)
)
_INBOUND_OF: Select[Any] = (
    select(*inbound.columns)
    .where(inbound.c.phone_id == _ONE)
    .order_by(inbound.c.received_at, inbound.c.id)
)
_OUTBOX_OF: Select[Any] = (
    select(*outbox.columns)
    .where(outbox.c.phone_id == _ONE)
    .order_by(outbox.c.created_at, outbox.c.place, outbox.c.id)
)
_MY_TICKETS = select(ticket.c.id).where(ticket.c.phone_id == _ONE).scalar_subquery()
_NOTES_OF: Select[Any] = (
    select(*NOTES.columns)
    .where(ticket_note.c.ticket_id.in_(_MY_TICKETS))
    .order_by(ticket_note.c.at, ticket_note.c.id)
)
_MY_MESSAGES = select(outbox.c.id).where(outbox.c.phone_id == _ONE).scalar_subquery()
_MY_PEOPLE = select(person.c.id).where(person.c.phone_id == _ONE).scalar_subquery()
_MY_PARTS = (
    select(submission.c.message_id)
    .where(submission.c.outbox_id.in_(_MY_MESSAGES))
    .scalar_subquery()
)
ERASE: tuple[Delete, ...] = (
    delete(receipt).where(
        or_(receipt.c.message_id.in_(_MY_MESSAGES), receipt.c.message_id.in_(_MY_PARTS))
    ),
    delete(submission).where(submission.c.outbox_id.in_(_MY_MESSAGES)),
    delete(outbox).where(outbox.c.phone_id == _ONE),
    delete(ticket_note).where(ticket_note.c.ticket_id.in_(_MY_TICKETS)),
    delete(ticket).where(ticket.c.phone_id == _ONE),
    delete(seasonal_recipient).where(seasonal_recipient.c.phone_id == _ONE),
    delete(reminder_choice).where(reminder_choice.c.phone_id == _ONE),
    delete(person_group).where(person_group.c.person_id.in_(_MY_PEOPLE)),
    delete(session).where(session.c.phone_id == _ONE),
    delete(plot).where(plot.c.phone_id == _ONE),
    delete(person).where(person.c.phone_id == _ONE),
    delete(inbound).where(inbound.c.phone_id == _ONE),
    delete(consent).where(consent.c.phone_id == _ONE),
    delete(review).where(review.c.phone_id == _ONE),
    delete(phone).where(and_(phone.c.id == _ONE)),
)
"""Everything kept about a phone, what refers to something before what it refers to."""
