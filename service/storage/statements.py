"""Every statement that a turn runs, built once: building one costs more than running it."""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    ColumnElement,
    Executable,
    Insert,
    Select,
    Table,
    and_,
    bindparam,
    delete,
    insert,
    or_,
    select,
    text,
    update,
)

from service.storage.constant import Constant
from service.storage.rows import PLOT_COLUMNS
from service.storage.tables import phone, plot, session


def _values(table: Table, *, without: tuple[str, ...] = ()) -> dict[str, ColumnElement[Any]]:
    return {
        column.name: bindparam(column.name, type_=column.type)
        for column in table.columns
        if column.name not in without
    }


PLOT = tuple(plot.c[name] for name in PLOT_COLUMNS)
_OF_CHANNEL = and_(session.c.phone_id == phone.c.id, session.c.channel == bindparam("channel"))

# The phone with its plot and the sessions that this call may concern: the one that carries the
# gateway's session id, and the open one. No row: unknown phone. Nothing in the columns of the
# session or the plot: no such session, no plot yet.
CALLER = Constant(
    select(*phone.columns, *session.columns, *PLOT)
    .select_from(
        phone.outerjoin(
            session,
            # Each by an index of its own, so that a phone with a hundred past calls costs what a
            # new one does. Spelt as in the partial index: with "open = 1", as SQLite gets a
            # boolean column otherwise, it would not use it.
            or_(
                and_(_OF_CHANNEL, session.c.gateway_session == bindparam("gateway_session")),
                and_(_OF_CHANNEL, text("session.open")),
            ),
        ).outerjoin(plot, and_(plot.c.phone_id == phone.c.id, text('plot."current"')))
    )
    .where(phone.c.number == bindparam("number"))
)

ADD_PHONE: Insert = insert(phone).values(_values(phone))

SET_LANGUAGE: Executable = (
    update(phone)
    .where(phone.c.id == bindparam("phone_id"))
    .values(language=bindparam("new_language"))
)

REACHED: Executable = (
    update(phone).where(phone.c.id == bindparam("phone_id")).values(failed_days=0, failed_on=None)
)

ADD_SESSION: Insert = insert(session).values(_values(session))

_SAME_SESSION = (
    session.c.id == bindparam("same_id"),
    session.c.revision == bindparam("read_revision"),
)
_KEYS = ("id", "phone_id", "channel", "gateway_session")

# Everything that may change is replaced, but only in the revision that was read: of two writers
# one finds no row. What never changes is not set, and neither is `open` as long as it stays, for
# SQLite writes every index anew that has a column which is set.
SAVE_SESSION = Constant(
    update(session)
    .where(*_SAME_SESSION, session.c.open)
    .values(_values(session, without=(*_KEYS, "open")))
)
CLOSE_SESSION = Constant(
    update(session).where(*_SAME_SESSION).values(_values(session, without=_KEYS))
)

AGE_SESSIONS: Executable = delete(session).where(
    session.c.id.in_(
        select(session.c.id)
        .where(session.c.updated_at < bindparam("before", type_=session.c.updated_at.type))
        .limit(bindparam("most"))
    )
)

FIND_PHONE: Select[Any] = select(*phone.columns).where(phone.c.number == bindparam("number"))

NUMBER: Select[Any] = select(phone.c.number).where(phone.c.id == bindparam("phone_id"))

GET_PHONE: Select[Any] = select(*phone.columns).where(phone.c.id == bindparam("phone_id"))

PHONES_ENDING: Select[Any] = (
    select(*phone.columns)
    .where(phone.c.number.like(bindparam("pattern")))
    .order_by(phone.c.number)
    .limit(bindparam("most"))
)

GET_SESSION: Select[Any] = select(*session.columns).where(session.c.id == bindparam("session_id"))

OPEN_SESSIONS: Select[Any] = (
    select(*session.columns)
    .where(session.c.phone_id == bindparam("phone_id"), text("session.open"))
    .order_by(session.c.updated_at.desc(), session.c.id)
)

ADD_PLOT: Insert = insert(plot).values(_values(plot))

_SAME_PLOT = (plot.c.id == bindparam("same_id"), plot.c.revision == bindparam("read_revision"))
_PLOT_KEYS = ("id", "phone_id", "created_at")

SAVE_PLOT = Constant(
    update(plot)
    .where(
        *_SAME_PLOT,
        plot.c.current == bindparam("same_current", type_=plot.c.current.type),
        plot.c.district == bindparam("same_district"),
    )
    .values(_values(plot, without=(*_PLOT_KEYS, "current", "district")))
)
# For the rare turn from one plot or district to another.
TURN_PLOT = Constant(update(plot).where(*_SAME_PLOT).values(_values(plot, without=_PLOT_KEYS)))

GET_PLOT: Select[Any] = select(*PLOT).where(plot.c.id == bindparam("plot_id"))

PLOTS_OF_PHONE: Select[Any] = (
    select(*PLOT)
    .where(plot.c.phone_id == bindparam("phone_id"))
    .order_by(plot.c.created_at, plot.c.id)
)
