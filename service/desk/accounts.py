"""Accounts: who may sit at the desk, in which roles, and the log of what they did."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime

from service.desk.office import Office, need
from service.desk.passwords import Hasher, checked_password
from service.desk.refusals import DeskRefused, unknown
from service.desk.typed import one_line
from service.phrases import say
from service.records import ROLES, Account, Audit, ConcurrentChange, Role, UnitOfWork, read_number
from service.records.number import NumberRefused

LONGEST_NAME = 60


class Accounts:
    """Keeps accounts. `languages` are the codes that a page can be shown in."""

    def __init__(
        self, office: Office, hasher: Hasher, languages: Collection[str], region: str = ""
    ) -> None:
        self._office, self._hasher = office, hasher
        self._languages, self._region = languages, region

    def first(self, name: str, password: str, now: datetime, language: str = "en") -> Account:
        """Make the first admin. Raises DeskRefused when there is any account already."""
        with self._office.work() as work:
            if work.accounts.all():
                raise DeskRefused(say("There are accounts already: sign in as an admin."))
            account = self._made(name, ROLES, password, now, language)
            work.accounts.add(account)
            self._log(work, None, "account.created", account, now, roles=list(ROLES))
        return account

    def create(
        self,
        account: Account,
        name: str,
        roles: Sequence[Role],
        password: str,
        now: datetime,
        *,
        language: str = "en",
        phone: str = "",
        districts: Sequence[str] = (),
    ) -> Account:
        """Make an account.

        Raises
        ------
        DeskRefused
            No admin, a name that is taken or empty, no role, a short password, an unknown
            language, or something that is no phone number.
        """
        need(account, "admin")
        made = replace(
            self._made(name, roles, password, now, language),
            phone=self._number(phone),
            districts=tuple(districts),
        )
        with self._office.work() as work:
            try:
                work.accounts.add(made)
            except ConcurrentChange as error:
                raise DeskRefused(say("That name is taken: choose another.")) from error
            self._log(work, account, "account.created", made, now, roles=list(made.roles))
        return made

    def all(self, account: Account) -> tuple[Account, ...]:
        """Return every account, by name, for an admin."""
        need(account, "admin")
        with self._office.work() as work:
            return work.accounts.all()

    def change(
        self,
        account: Account,
        account_id: str,
        now: datetime,
        *,
        roles: Sequence[Role] | None = None,
        districts: Sequence[str] | None = None,
        phone: str | None = None,
    ) -> Account:
        """Change roles, districts or the phone to test messages on; None leaves as it is."""
        need(account, "admin")
        with self._office.work() as work:
            old = _found(work, account_id)
            new = replace(
                old,
                roles=old.roles if roles is None else _roles(roles),
                districts=old.districts if districts is None else tuple(districts),
                phone=old.phone if phone is None else self._number(phone),
                # Pages opened under the old roles end.
                epoch=old.epoch + (roles is not None and tuple(roles) != old.roles),
            )
            _keep_an_admin(work, new)
            work.accounts.save(new)
            self._log(work, account, "account.changed", new, now, roles=list(new.roles))
        return new

    def set_active(
        self, account: Account, account_id: str, now: datetime, *, active: bool
    ) -> Account:
        """Switch an account off, which ends its sittings, or on again."""
        need(account, "admin")
        with self._office.work() as work:
            old = _found(work, account_id)
            new = replace(old, active=active, epoch=old.epoch + 1)
            _keep_an_admin(work, new)
            work.accounts.save(new)
            action = "account.switched_on" if active else "account.switched_off"
            self._log(work, account, action, new, now)
        return new

    def unlock(self, account: Account, account_id: str, now: datetime) -> Account:
        """Let an account that is locked after wrong passwords try again."""
        need(account, "admin")
        with self._office.work() as work:
            new = replace(_found(work, account_id), failures=0, locked_until=None)
            work.accounts.save(new)
            self._log(work, account, "account.unlocked", new, now)
        return new

    def reset_password(
        self, account: Account, account_id: str, password: str, now: datetime
    ) -> Account:
        """Give another account a new password, which ends its sittings."""
        need(account, "admin")
        kept = self._hasher.hash(checked_password(password))
        with self._office.work() as work:
            new = _renewed(_found(work, account_id), kept)
            work.accounts.save(new)
            self._log(work, account, "account.password_reset", new, now)
        return new

    def new_password(self, account: Account, old: str, new: str, now: datetime) -> Account:
        """Change one's own password; every sitting ends. Raises DeskRefused for a wrong old one."""
        if not account.active or not self._hasher.verify(account.password_hash, old):
            raise DeskRefused(say("The old password is not right."))
        kept = self._hasher.hash(checked_password(new))
        with self._office.work() as work:
            changed = _renewed(_found(work, account.id), kept)
            work.accounts.save(changed)
            self._log(work, account, "account.password_changed", changed, now)
        return changed

    def set_language(self, account: Account, language: str, now: datetime) -> Account:
        """Choose the language of one's own pages."""
        need(account, *ROLES)
        with self._office.work() as work:
            new = replace(_found(work, account.id), language=self._language(language))
            work.accounts.save(new)
            self._log(work, account, "account.language", new, now, language=language)
        return new

    def lines(
        self, account: Account, *, subject_id: str = "", account_id: str = "", limit: int = 200
    ) -> tuple[Audit, ...]:
        """Return the log, the newest first, for an admin."""
        need(account, "admin")
        with self._office.work() as work:
            return work.accounts.lines(
                subject_id=subject_id, account_id=account_id, limit=min(limit, 1000)
            )

    def _made(
        self, name: str, roles: Sequence[Role], password: str, now: datetime, language: str
    ) -> Account:
        bare = one_line(name)
        if not bare or len(bare) > LONGEST_NAME:
            raise DeskRefused(say("A name has 1 to {most} letters.", most=LONGEST_NAME))
        kept = self._hasher.hash(checked_password(password))
        return Account(
            self._office.new_id(), bare, _roles(roles), kept, now, self._language(language)
        )

    def _language(self, language: str) -> str:
        if language not in self._languages:
            raise DeskRefused(say("Choose a language of the list."))
        return language

    def _number(self, phone: str) -> str:
        try:
            return read_number(phone, self._region) if phone.strip() else ""
        except NumberRefused as error:
            raise DeskRefused(
                say("That is no phone number. Example: {example}", example="+10005550100")
            ) from error

    def _log(
        self,
        work: UnitOfWork,
        account: Account | None,
        action: str,
        about: Account,
        now: datetime,
        **detail: object,
    ) -> None:
        self._office.log(
            work, account, action, now, subject="account", subject_id=about.id, **detail
        )


def _roles(roles: Sequence[Role]) -> tuple[Role, ...]:
    chosen = tuple(role for role in ROLES if role in roles)
    if not chosen or set(roles) - set(ROLES):
        raise DeskRefused(say("Choose at least one role."))
    return chosen


def _found(work: UnitOfWork, account_id: str) -> Account:
    account = work.accounts.get(account_id)
    if account is None:
        raise unknown()
    return account


def _renewed(account: Account, kept: str) -> Account:
    return replace(
        account, password_hash=kept, epoch=account.epoch + 1, failures=0, locked_until=None
    )


def _keep_an_admin(work: UnitOfWork, changed: Account) -> None:
    rest = [changed, *(one for one in work.accounts.all() if one.id != changed.id)]
    if not any(one.active and "admin" in one.roles for one in rest):
        raise DeskRefused(say("This is the last admin: make another one first."))
