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
    insert,
    or_,
    select,
    update,
)

from service.storage.constant import Constant
from service.storage.tables import phone, plot, session


def _values(table: Table, *, without: tuple[str, ...] = ()) -> dict[str, ColumnElement[Any]]:
    return {
        column.name: bindparam(column.name, type_=column.type)
        for column in table.columns
        if column.name not in without
    }


# The phone with its plot and the sessions that this call may concern: the one that carries the
# gateway's session id, and the open one. No row: unknown phone. Nothing in the columns of the
# session or the plot: no such session, no plot yet.
CALLER = Constant(
    select(*phone.columns, *session.columns, *plot.columns)
    .select_from(
        phone.outerjoin(
            session,
            and_(
                session.c.phone_id == phone.c.id,
                session.c.channel == bindparam("channel"),
                or_(session.c.gateway_session == bindparam("gateway_session"), session.c.open),
            ),
        ).outerjoin(plot, and_(plot.c.phone_id == phone.c.id, plot.c.current))
    )
    .where(phone.c.number == bindparam("number"))
)

ADD_PHONE: Insert = insert(phone).values(_values(phone))

SET_LANGUAGE: Executable = (
    update(phone)
    .where(phone.c.id == bindparam("phone_id"))
    .values(language=bindparam("new_language"))
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

FIND_PHONE: Select[Any] = select(*phone.columns).where(phone.c.number == bindparam("number"))

NUMBER: Select[Any] = select(phone.c.number).where(phone.c.id == bindparam("phone_id"))

ADD_PLOT: Insert = insert(plot).values(_values(plot))

_SAME_PLOT = (plot.c.id == bindparam("same_id"), plot.c.revision == bindparam("read_revision"))
_PLOT_KEYS = ("id", "phone_id", "created_at")

SAVE_PLOT = Constant(
    update(plot)
    .where(*_SAME_PLOT, plot.c.current == bindparam("same_current", type_=plot.c.current.type))
    .values(_values(plot, without=(*_PLOT_KEYS, "current")))
)
# For the rare turn from one plot to another.
TURN_PLOT = Constant(update(plot).where(*_SAME_PLOT).values(_values(plot, without=_PLOT_KEYS)))

GET_PLOT: Select[Any] = select(*plot.columns).where(plot.c.id == bindparam("plot_id"))

PLOTS_OF_PHONE: Select[Any] = (
    select(*plot.columns)
    .where(plot.c.phone_id == bindparam("phone_id"))
    .order_by(plot.c.created_at, plot.c.id)
)
