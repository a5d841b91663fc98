"""Signing in: one answer and the same work whatever was wrong, and a lock against guessing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from service.desk.office import Office
from service.desk.passwords import Hasher
from service.desk.refusals import DeskRefused
from service.desk.typed import one_line
from service.phrases import say
from service.records import Account, ConcurrentChange, require_aware

FREE_TRIES = 5
"""Wrong passwords before a name is locked for a while."""
FIRST_LOCK = timedelta(minutes=2)
LONGEST_LOCK = timedelta(hours=1)
"""The first lock, doubled by each further wrong password up to the longest: our own judgement."""
ATTEMPTS = 8
"""How often the count is tried anew when other guesses are counted at the same moment."""
_DECOY = "no password at all, only the same work"


@dataclass(frozen=True, slots=True)
class Sitting:
    """What a page keeps of somebody who has signed in: whom, and since which epoch."""

    account_id: str
    epoch: int


class SigningIn:
    """Checks names and passwords."""

    def __init__(self, office: Office, hasher: Hasher) -> None:
        self._office, self._hasher = office, hasher
        self._decoy = hasher.hash(_DECOY)

    def sign_in(self, name: str, password: str, now: datetime) -> Sitting:
        """Return the sitting of an account.

        Raises
        ------
        DeskRefused
            Unknown name, wrong password, switched off or locked: always in the same words.
        """
        require_aware(now)
        with self._office.work() as work:
            account = work.accounts.named(one_line(name))
        kept = account.password_hash if account else self._decoy
        right = self._hasher.verify(kept, password[:1000])
        sitting = self._counted(account, right, password, now)
        if sitting is None:
            raise DeskRefused(
                say(
                    "Name or password is not right, or there were too many tries."
                    " Look again, or wait some minutes."
                )
            )
        return sitting

    def account(self, sitting: Sitting) -> Account | None:
        """Return the account of a sitting as it is now; None when it must sign in again."""
        with self._office.work() as work:
            account = work.accounts.get(sitting.account_id)
        if account is None or not account.active or account.epoch != sitting.epoch:
            return None
        return account

    def end_all(self, account: Account, now: datetime) -> None:
        """End every sitting of an account, this one too."""
        with self._office.work() as work:
            work.accounts.save(replace(account, epoch=account.epoch + 1))
            self._office.log(
                work, account, "account.signed_out", now, subject="account", subject_id=account.id
            )

    def _counted(
        self, account: Account | None, right: bool, password: str, now: datetime
    ) -> Sitting | None:
        """Count a try on the newest row, so that guesses made side by side all count."""
        for _ in range(ATTEMPTS):
            try:
                return self._try(account, right, password, now)
            except ConcurrentChange:
                continue
        return None

    def _try(
        self, before: Account | None, right: bool, password: str, now: datetime
    ) -> Sitting | None:
        with self._office.unit_of_work() as work:
            account = work.accounts.get(before.id) if before else None
            # A password changed since it was verified was not the one that was verified.
            same = account and before and account.password_hash == before.password_hash
            free = account is not None and _free(account, now)
            passed = bool(account and same and right and free and account.active)
            if account is not None and free:
                work.accounts.save(
                    self._passed(account, password) if passed else _failed(account, now)
                )
            action = "account.signed_in" if passed else "account.sign_in_refused"
            self._office.log(
                work,
                account if passed else None,
                action,
                now,
                subject="account",
                subject_id=account.id if account else "",
            )
            work.commit()
            return Sitting(account.id, account.epoch) if account and passed else None

    def _passed(self, account: Account, password: str) -> Account:
        kept = account.password_hash
        if self._hasher.stale(kept):
            kept = self._hasher.hash(password)
        return replace(account, failures=0, locked_until=None, password_hash=kept)


def _free(account: Account, now: datetime) -> bool:
    return account.locked_until is None or now >= account.locked_until


def _failed(account: Account, now: datetime) -> Account:
    failures = account.failures + 1
    return replace(account, failures=failures, locked_until=locked_until(failures, now))


def locked_until(failures: int, now: datetime) -> datetime | None:
    """Return when a name with so many wrong passwords in a row may try again."""
    over = failures - FREE_TRIES
    if over < 0:
        return None
    lock: timedelta = FIRST_LOCK * (1 << min(over, 16))
    return now + min(lock, LONGEST_LOCK)
