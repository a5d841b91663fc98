"""Seasonal messages prepared at the desk, and looked at by a second person."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from service.channels.post import Letter, Post
from service.desk.office import Office, as_saved, need
from service.desk.refusals import Clash, DeskRefused, not_your_district
from service.desk.seasonal_common import found, in_reach, in_state, log, start_of
from service.desk.typed import one_line, several_lines
from service.outreach import Estimate, Preview, Seasonal, TextCheck
from service.phrases import Phrase, say
from service.records import (
    Account,
    Audience,
    Phone,
    SeasonalMessage,
)

SECOND_EYES_ABOVE = 100
"""Plots above which another account must approve, unless a deployment says otherwise."""
PREVIEWS = 5
LONGEST_TITLE = 80
LONGEST_TEXT = 2000
LATEST_START = timedelta(days=366)
PAGE = 500
EXPORT_HEADER = ("plot", "number", "district", "state", "parts", "left out because", "reason")


@dataclass(frozen=True, slots=True)
class Rate:
    """How fast the gateway sends, how long a day it may, and what a part costs."""

    per_second: float = 1.0
    hours: float = 11.0
    price_per_part: float | None = None


@dataclass(frozen=True, slots=True)
class Prepared:
    """A message with what is known of it before it goes out."""

    message: SeasonalMessage
    plots: int
    checks: tuple[TextCheck, ...]
    needs_second: bool
    """Whether another account must approve it."""


class SeasonalDrafts:
    """Prepares messages; `outreach.Seasonal` words them."""

    def __init__(
        self,
        office: Office,
        seasonal: Seasonal,
        *,
        districts: Collection[str],
        crops: Collection[str],
        languages: Collection[str],
        rate: Rate | None = None,
        second_eyes_above: int = SECOND_EYES_ABOVE,
    ) -> None:
        self._office, self._seasonal, self._rate = office, seasonal, rate or Rate()
        self._known = {"districts": districts, "crops": crops, "languages": languages}
        self._above = second_eyes_above
        self._post = Post(office.new_id)

    # --- preparing --------------------------------------------------------------------------------

    def all(self, account: Account) -> tuple[SeasonalMessage, ...]:
        """Return the messages, the newest first."""
        need(account, "officer")
        with self._office.work() as work:
            return tuple(one for one in work.seasonals.all() if in_reach(account, one.audience))

    def see(self, account: Account, seasonal_id: str) -> Prepared:
        """Return one message with its checks and the size of its audience."""
        need(account, "officer")
        with self._office.work() as work:
            message = found(work, account, seasonal_id)
            plots = work.farmers.count(message.audience)
        checks = self._seasonal.check(message.texts)
        return Prepared(message, plots, checks, self._needs_second(plots))

    def count(self, account: Account, audience: Audience) -> int:
        """Return how many plots an audience has; stages are not looked at."""
        need(account, "officer")
        self._checked(account, audience)
        with self._office.work() as work:
            return work.farmers.count(audience)

    def prepare(
        self,
        account: Account,
        title: str,
        audience: Audience,
        texts: Mapping[str, str],
        now: datetime,
        starts_at: datetime | None = None,
    ) -> SeasonalMessage:
        """Keep a new draft; texts may be unfinished."""
        need(account, "officer")
        self._checked(account, audience)
        message = SeasonalMessage(
            id=self._office.new_id(),
            title=_title(title),
            created_at=now,
            created_by=account.id,
            audience=audience,
            texts=_texts(texts),
            changed_by=account.id,
            starts_at=start_of(starts_at, now),
        )
        with self._office.work() as work:
            work.seasonals.add(message)
            log(self._office, work, account, "seasonal.prepared", message, now)
        return message

    def edit(
        self,
        account: Account,
        seasonal_id: str,
        now: datetime,
        *,
        revision: int,
        title: str | None = None,
        audience: Audience | None = None,
        texts: Mapping[str, str] | None = None,
        starts_at: datetime | None = None,
    ) -> SeasonalMessage:
        """Change a message that does not go out yet; it is a draft again, approved by nobody."""
        need(account, "officer")
        if audience is not None:
            self._checked(account, audience)
        with self._office.work() as work:
            old = found(work, account, seasonal_id)
            in_state(old, "draft", "waiting", "approved")
            if old.revision != revision:
                raise Clash(say("Somebody changed this message meanwhile. Look again."))
            new = replace(
                old,
                title=old.title if title is None else _title(title),
                audience=audience or old.audience,
                texts=old.texts if texts is None else _texts(texts),
                starts_at=start_of(starts_at, now),
                state="draft",
                changed_by=account.id,
                approved_by=None,
                approved_at=None,
            )
            work.seasonals.save(new)
            log(self._office, work, account, "seasonal.edited", new, now)
        return as_saved(new)

    def estimate(self, account: Account, seasonal_id: str, now: datetime) -> Estimate:
        """Return plots, recipients, parts, hours and cost if the message went out now."""
        need(account, "officer")
        message = self.see(account, seasonal_id).message
        return self._seasonal.estimate(
            message.audience,
            message.texts,
            now,
            rate_per_second=self._rate.per_second,
            allowed_hours=self._rate.hours,
            price_per_part=self._rate.price_per_part,
        )

    def preview(
        self, account: Account, seasonal_id: str, now: datetime, n: int = PREVIEWS, seed: int = 0
    ) -> tuple[Preview, ...]:
        """Return the message as some of its recipients would get it; numbers masked."""
        need(account, "officer")
        with self._office.work() as work:
            message = found(work, account, seasonal_id)
            log(self._office, work, account, "seasonal.previewed", message, now)
        return self._seasonal.preview(message.audience, message.texts, min(n, 20), now, seed)

    def test(self, account: Account, seasonal_id: str, now: datetime) -> tuple[Preview, ...]:
        """Send the message to the account's own phone, as one recipient of each language gets it.

        Raises
        ------
        DeskRefused
            When the account has no phone, or nobody would get the message.
        """
        if not account.phone:
            raise DeskRefused(say("Your account has no phone number: ask an admin to set it."))
        looked = self.preview(account, seasonal_id, now, n=20)
        by_language = {one.language: one for one in reversed(looked)}
        if not by_language:
            raise DeskRefused(say("Nobody would get this message as it stands."))
        with self._office.work() as work:
            phone = work.phones.find(account.phone)
            if phone is None:
                phone = Phone(self._office.new_id(), account.phone, account.language, now)
                work.phones.add(phone)
            message = found(work, account, seasonal_id)
            for place, one in enumerate(by_language.values()):
                key = f"test:{seasonal_id}:{one.language}:{self._office.new_id()}"
                letter = Letter(phone.id, "answer", key, one.text, one.language)
                self._post.put(work, letter, now, place)
            log(
                self._office, work, account, "seasonal.tested", message, now, texts=len(by_language)
            )
        return tuple(by_language.values())

    # --- a second pair of eyes --------------------------------------------------------------------

    def submit(self, account: Account, seasonal_id: str, now: datetime) -> SeasonalMessage:
        """Give a draft to be approved; a small one is approved with that.

        Raises
        ------
        DeskRefused
            While anything about the texts must be mended, or nobody is in the audience.
        """
        need(account, "officer")
        with self._office.work() as work:
            old = found(work, account, seasonal_id)
            in_state(old, "draft")
            faults = _faults(self._seasonal.check(old.texts))
            if faults:
                raise DeskRefused(faults[0])
            plots = work.farmers.count(old.audience)
            if not plots:
                raise DeskRefused(say("No plot is in this audience."))
            second = self._needs_second(plots)
            new = replace(old, state="waiting") if second else _approved(old, account, now)
            work.seasonals.save(new)
            log(self._office, work, account, "seasonal.submitted", new, now, plots=plots)
        return as_saved(new)

    def approve(
        self, account: Account, seasonal_id: str, revision: int, now: datetime
    ) -> SeasonalMessage:
        """Approve a message that another account prepared, in the version that was looked at."""
        need(account, "officer")
        with self._office.work() as work:
            old = found(work, account, seasonal_id)
            in_state(old, "waiting")
            if old.revision != revision:
                raise Clash(say("Somebody changed this message meanwhile. Look again."))
            if account.id in (old.created_by, old.changed_by):
                raise DeskRefused(say("Another person must approve what you have written."))
            new = _approved(old, account, now)
            work.seasonals.save(new)
            log(self._office, work, account, "seasonal.approved", new, now)
        return as_saved(new)

    def send_back(
        self, account: Account, seasonal_id: str, why: str, now: datetime
    ) -> SeasonalMessage:
        """Give a message that waits for approval back to whoever wrote it, with a word why."""
        need(account, "officer")
        with self._office.work() as work:
            old = found(work, account, seasonal_id)
            in_state(old, "waiting", "approved")
            new = replace(old, state="draft", approved_by=None, approved_at=None)
            work.seasonals.save(new)
            log(self._office, work, account, "seasonal.sent_back", new, now, why=one_line(why, 200))
        return as_saved(new)

    def _needs_second(self, plots: int) -> bool:
        return plots > self._above

    def _checked(self, account: Account, audience: Audience) -> None:
        """Refuse an audience out of reach, or with something that no plot can have."""
        if not in_reach(account, audience):
            raise not_your_district()
        for name, known in self._known.items():
            for one in getattr(audience, name):
                if one not in known:
                    raise DeskRefused(say("{value} is not in the list.", value=str(one)))


def _approved(message: SeasonalMessage, account: Account, now: datetime) -> SeasonalMessage:
    return replace(message, state="approved", approved_by=account.id, approved_at=now)


def _title(title: str) -> str:
    bare = one_line(title, LONGEST_TITLE)
    if not bare:
        raise DeskRefused(say("Give the message a title, for the list only."))
    return bare


def _texts(texts: Mapping[str, str]) -> dict[str, str]:
    return {
        language: said
        for language, text in texts.items()
        if (said := several_lines(text, LONGEST_TEXT))
    }


def _faults(checks: tuple[TextCheck, ...]) -> tuple[Phrase, ...]:
    return tuple(
        say("{language}: {fault}", language=check.language, fault=fault)
        for check in checks
        for fault in check.errors
    )
