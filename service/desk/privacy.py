"""What is kept about a farmer, given out or deleted on their request."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime

from service.desk.office import Office, known_phone, need
from service.desk.refusals import DeskRefused, unknown
from service.desk.remembered_stops import ERASED
from service.desk.typed import one_line
from service.phrases import say
from service.records import Account, number_hash

LEAST_WORDS = 5


class Privacy:
    """Exports and erases. `number_key` is the key under which a forgotten number is known again."""

    def __init__(self, office: Office, number_key: str) -> None:
        self._office, self._key = office, number_key

    def export(self, account: Account, phone_id: str, now: datetime) -> str:
        """Return everything kept about a phone as readable JSON, for its owner."""
        need(account)
        with self._office.work() as work:
            known_phone(work, account, phone_id)
            history = work.farmers.history(phone_id)
            if history is None:
                raise unknown()
            seen = work.accounts.lines(subject_id=phone_id, limit=1000)
            self._office.log(
                work, account, "caller.exported", now, subject="phone", subject_id=phone_id
            )
        whole = {**history._asdict(), "seen_or_changed_by": seen, "exported_at": now}
        return json.dumps(_plain(whole), ensure_ascii=False, indent=2, sort_keys=False)

    def erase(self, account: Account, phone_id: str, why: str, now: datetime) -> int:
        """Delete everything kept about a phone; return how many rows went.

        A wish to be left alone outlives it as a keyed hash of the number in the log; the number
        itself is gone.

        Raises
        ------
        DeskRefused
            Without a word on who asked and how.
        """
        need(account)
        said = one_line(why, 200)
        if len(said) < LEAST_WORDS:
            raise DeskRefused(say("Write down who asked for it, and how."))
        with self._office.work() as work:
            phone = known_phone(work, account, phone_id)
            latest = work.consents.latest(phone_id)
            rows = work.farmers.erase(phone_id)
            self._office.log(
                work, account, ERASED, now, subject="number",
                subject_id=number_hash(phone.number, self._key),
                left_alone=latest is not None and not latest.given, rows=rows, why=said,
            )  # fmt: skip
        return rows


def _plain(value: object) -> object:
    """Return a record as JSON values."""
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: _plain(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, Mapping):
        return {str(name): _plain(one) for name, one in value.items()}
    if isinstance(value, tuple | list | set | frozenset):
        return [_plain(one) for one in value]
    if isinstance(value, datetime | date):
        return value.isoformat()
    return value
