"""What preparing and steering a seasonal message share."""

from __future__ import annotations

from datetime import datetime, timedelta

from service.desk.office import Office, limited
from service.desk.refusals import DeskRefused, not_your_district, unknown
from service.phrases import say
from service.records import Account, Audience, SeasonalMessage, SeasonalState, UnitOfWork

LATEST_START = timedelta(days=366)


def in_reach(account: Account, audience: Audience) -> bool:
    """Whether an account may address an audience: limited officers name their districts."""
    only = limited(account)
    return not only or (bool(audience.districts) and set(audience.districts) <= set(only))


def found(work: UnitOfWork, account: Account, seasonal_id: str) -> SeasonalMessage:
    """Return a message within the reach of an account. Raises Unknown or NotYours."""
    message = work.seasonals.get(seasonal_id)
    if message is None:
        raise unknown()
    if not in_reach(account, message.audience):
        raise not_your_district()
    return message


def in_state(message: SeasonalMessage, *allowed: SeasonalState) -> None:
    """Refuse what a message in another state is not ready for."""
    if message.state not in allowed:
        raise DeskRefused(say("That cannot be done with this message now. Look again."))


def start_of(starts_at: datetime | None, now: datetime) -> datetime | None:
    """Return the moment of the start; None for at once. Raises DeskRefused for a far one."""
    if starts_at is None or starts_at.utcoffset() is None:
        return None
    if starts_at > now + LATEST_START:
        raise DeskRefused(say("That moment is more than a year off."))
    return starts_at


def log(
    office: Office,
    work: UnitOfWork,
    account: Account,
    action: str,
    message: SeasonalMessage,
    now: datetime,
    **detail: object,
) -> None:
    """Write a line of the log about a message."""
    office.log(
        work, account, action, now, subject="seasonal", subject_id=message.id,
        state=message.state, **detail,
    )  # fmt: skip
