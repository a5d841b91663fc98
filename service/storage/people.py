"""Phones, their conversations and their plots, over SQLAlchemy Core."""

from __future__ import annotations

from datetime import datetime

from service.records import ConcurrentChange, Phone, Plot, Session
from service.storage import statements
from service.storage.outbox import Work
from service.storage.rows import (
    phone_record,
    phone_row,
    plot_record,
    plot_row,
    session_record,
    session_row,
)


class SqlPhones:
    """The table of numbers."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, phone: Phone) -> None:
        self._work.write(statements.ADD_PHONE, phone_row(phone))

    def set_language(self, phone_id: str, language: str) -> None:
        self._work.write(statements.SET_LANGUAGE, {"phone_id": phone_id, "new_language": language})

    def find(self, number: str) -> Phone | None:
        row = self._work.connection.execute(statements.FIND_PHONE, {"number": number}).first()
        return None if row is None else phone_record(row)

    def reached(self, phone_id: str) -> None:
        self._work.write(statements.REACHED, {"phone_id": phone_id})

    def get(self, phone_id: str) -> Phone | None:
        row = self._work.connection.execute(statements.GET_PHONE, {"phone_id": phone_id}).first()
        return None if row is None else phone_record(row)

    def ending(self, digits: str, limit: int) -> tuple[Phone, ...]:
        # Digits only: no sign of a pattern gets through.
        values = {"pattern": f"%{''.join(filter(str.isdigit, digits))}", "most": limit}
        rows = self._work.connection.execute(statements.PHONES_ENDING, values).all()
        return tuple(phone_record(row) for row in rows)

    def number(self, phone_id: str) -> str | None:
        values = {"phone_id": phone_id}
        number: str | None = self._work.connection.execute(statements.NUMBER, values).scalar()
        return number


class SqlSessions:
    """The table of conversations."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, session: Session) -> None:
        self._work.write(statements.ADD_SESSION, session_row(session))

    def save(self, session: Session) -> None:
        row = session_row(session)
        row |= {"same_id": session.id, "read_revision": session.revision}
        row["revision"] += 1
        saved = statements.SAVE_SESSION if session.open else statements.CLOSE_SESSION
        if self._work.write(saved, row) != 1:
            raise ConcurrentChange(f"session {session.id} has moved on")

    def get(self, session_id: str) -> Session | None:
        values = {"session_id": session_id}
        row = self._work.connection.execute(statements.GET_SESSION, values).first()
        return None if row is None else session_record(row)

    def open_of_phone(self, phone_id: str) -> tuple[Session, ...]:
        values = {"phone_id": phone_id}
        rows = self._work.connection.execute(statements.OPEN_SESSIONS, values).all()
        return tuple(session_record(row) for row in rows)

    def age(self, before: datetime, limit: int) -> int:
        return self._work.write(statements.AGE_SESSIONS, {"before": before, "most": limit})


class SqlPlots:
    """The table of plots."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, plot: Plot) -> None:
        self._work.write(statements.ADD_PLOT, plot_row(plot))

    def save(self, plot: Plot) -> None:
        row = plot_row(plot)
        row |= {"same_id": plot.id, "read_revision": plot.revision}
        row |= {"same_current": plot.current, "same_district": plot.district}
        row["revision"] += 1
        if self._work.write(statements.SAVE_PLOT, row) == 1:
            return
        if self._work.write(statements.TURN_PLOT, row) != 1:
            raise ConcurrentChange(f"plot {plot.id} has changed")

    def get(self, plot_id: str) -> Plot | None:
        row = self._work.connection.execute(statements.GET_PLOT, {"plot_id": plot_id}).first()
        return None if row is None else plot_record(row)

    def of_phone(self, phone_id: str) -> tuple[Plot, ...]:
        values = {"phone_id": phone_id}
        rows = self._work.connection.execute(statements.PLOTS_OF_PHONE, values).all()
        return tuple(plot_record(row) for row in rows)
