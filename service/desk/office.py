"""What every job of the desk shares: transactions, roles, districts, and the log."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeVar

from service.desk.refusals import clash, not_your_district, not_yours, unknown
from service.records import (
    Account,
    Audit,
    ConcurrentChange,
    Farmer,
    Phone,
    Plot,
    Role,
    SeasonalMessage,
    Session,
    UnitOfWork,
    require_aware,
)

Saved = TypeVar("Saved", Plot, Session, SeasonalMessage)


@dataclass(frozen=True, slots=True)
class Office:
    """Where the store is and where ids come from."""

    unit_of_work: Callable[[], UnitOfWork]
    new_id: Callable[[], str]

    @contextmanager
    def work(self) -> Iterator[UnitOfWork]:
        """Open a transaction; it is committed at the end of the block, or undone by an error.

        Raises
        ------
        Clash
            When somebody else changed the same row first.
        """
        try:
            with self.unit_of_work() as work:
                yield work
                work.commit()
        except ConcurrentChange as error:
            raise clash() from error

    def log(
        self,
        work: UnitOfWork,
        account: Account | None,
        action: str,
        now: datetime,
        *,
        subject: str = "",
        subject_id: str = "",
        **detail: object,
    ) -> None:
        """Write one line of the log in the transaction of what it tells of."""
        who = account.id if account else None
        line = Audit(
            self.new_id(), require_aware(now), who, action, subject, subject_id, dict(detail)
        )
        work.accounts.log(line)


def need(account: Account, *roles: Role) -> None:
    """Refuse an account that has none of these roles, or is switched off; admins may do all."""
    if not account.active or not {"admin", *roles} & set(account.roles):
        raise not_yours()


def limited(account: Account) -> tuple[str, ...]:
    """Return the districts that an account is limited to; none means every one.

    Only field officers are limited: whoever also answers the helpline or is an admin sees all.
    """
    return account.districts if set(account.roles) == {"officer"} else ()


def need_district(account: Account, district: str) -> None:
    """Refuse a district outside those of the account."""
    only = limited(account)
    if only and district not in only:
        raise not_your_district()


def need_caller(account: Account, farmers: tuple[Farmer, ...]) -> None:
    """Refuse a caller none of whose plots lies in the districts of the account."""
    only = limited(account)
    if only and not any(one.plot.district in only for one in farmers):
        raise not_your_district()


def known_phone(work: UnitOfWork, account: Account, phone_id: str) -> Phone:
    """Return a phone that the account may see. Raises Unknown or NotYours."""
    phone = work.phones.get(phone_id)
    if phone is None:
        raise unknown()
    if limited(account):
        need_caller(account, work.farmers.of_phone(phone_id))
    return phone


def known_plot(work: UnitOfWork, account: Account, plot_id: str) -> Plot:
    """Return a plot that the account may see. Raises Unknown or NotYours."""
    plot = work.plots.get(plot_id)
    if plot is None:
        raise unknown()
    need_district(account, plot.district)
    return plot


def current_plot(work: UnitOfWork, phone_id: str) -> Plot | None:
    """Return the plot that a phone's conversations are about; None when there is none."""
    return next((plot for plot in work.plots.of_phone(phone_id) if plot.current), None)


def as_saved(record: Saved) -> Saved:
    """Return a record as the store now has it: saving gives it the next revision."""
    return replace(record, revision=record.revision + 1)
