"""Putting a message into the outbox, in the transaction of whoever decided to send it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from service.channels.kinds import RULES
from service.records import Kind, Message, UnitOfWork, require_aware
from service.text.measure import measure


@dataclass(frozen=True, slots=True)
class Letter:
    """What is to be said to a phone, and under which key the same is never said twice.

    `not_before` and `not_after` are taken from the moment and the kind when they are not given.
    """

    phone_id: str
    kind: Kind
    dedupe_key: str
    text: str
    language: str
    sender: str = ""
    not_before: datetime | None = None
    not_after: datetime | None = None
    batch: str = ""
    """The seasonal message it belongs to."""


@dataclass(frozen=True, slots=True)
class Post:
    """Writes letters into the outbox."""

    new_id: Callable[[], str]

    def put(self, work: UnitOfWork, letter: Letter, now: datetime, place: int = 0) -> bool:
        """Put a letter into the outbox; False when its key is already there.

        `place` orders the letters of one transaction.
        """
        rule, size = RULES[letter.kind], measure(letter.text)
        start = letter.not_before or require_aware(now)
        return work.outbox.add(
            Message(
                id=self.new_id(),
                phone_id=letter.phone_id,
                channel="sms",
                kind=letter.kind,
                dedupe_key=letter.dedupe_key,
                text=letter.text,
                language=letter.language,
                encoding=size.encoding,
                parts=size.parts,
                priority=rule.priority,
                created_at=now,
                place=place,
                not_before=start,
                not_after=letter.not_after or start + rule.lifetime,
                next_try=start,
                sender=letter.sender,
                batch=letter.batch,
            )
        )
