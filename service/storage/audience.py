"""Which plots an audience means, asked so that a page costs the same wherever it begins."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Select, exists, literal, select, text, union_all

from service.records import Audience
from service.storage.desk_tables import person_group
from service.storage.tables import phone, plot

# Spelt as in the partial indexes: SQLite would not use them for "current = 1".
CURRENT = text('plot."current"')

_FEW = 16
"""Up to so many districts each is read by its own index, more in one walk through all plots."""


def conditions(audience: Audience) -> list[ColumnElement[bool]]:
    """Return what a plot must fulfil; the stage is left to whoever can reckon it."""
    found = _but_districts(audience)
    if audience.districts:
        found.append(plot.c.district.in_(audience.districts))
    return found


def next_plots(audience: Audience, after: str, limit: int) -> list[ColumnElement[bool]]:
    """Return what the plots of the page after a plot must fulfil; the caller puts them in order.

    Asked for several districts at once a database takes all plots of theirs and sorts them, for
    every page anew. So the next ones of each are taken, where the index has them in order, and
    the page is taken from these.
    """
    rest = [CURRENT, plot.c.id > after, *_but_districts(audience)]
    districts = sorted(set(audience.districts))
    if not districts:
        return rest  # type: ignore[return-value]
    if len(districts) == 1:
        return [*rest, plot.c.district == districts[0]]  # type: ignore[list-item]
    if len(districts) > _FEW:
        # Joined with nothing, the column is no longer one that an index is about.
        return [*rest, (plot.c.district + literal("")).in_(districts)]  # type: ignore[list-item]
    each = [_of_district(name, rest, audience, limit) for name in districts]
    return [plot.c.id.in_(union_all(*each))]


def _of_district(name: str, rest: list[Any], audience: Audience, limit: int) -> Select[Any]:
    found = select(plot.c.id).where(*rest, plot.c.district == name)
    if audience.languages:
        found = found.join(phone, phone.c.id == plot.c.phone_id)
    # Within another select: SQLite takes no limit in a part of a union.
    return select(found.order_by(plot.c.id).limit(limit).subquery().c.id)


def _but_districts(audience: Audience) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = []
    if audience.crops:
        found.append(plot.c.crop.in_(audience.crops))
    if audience.languages:
        found.append(phone.c.language.in_(audience.languages))
    if audience.groups:
        found.append(
            exists().where(
                person_group.c.person_id == plot.c.person_id,
                person_group.c.name.in_(audience.groups),
            )
        )
    return found
