"""How sending stands: counts by state, what was given up, and what is done about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from service.channels.kinds import RULES
from service.channels.post import Letter, Post
from service.desk.office import Office, need
from service.desk.refusals import DeskRefused, unknown
from service.phrases import say
from service.records import Account, Message, State, UnitOfWork, masked

RESENT, LET_GO = "message.resent", "message.let_go"
MOST_SHOWN = 200
MOST_DECIDED = 5000


@dataclass(frozen=True, slots=True)
class GivenUp:
    """A message that never arrived, or of which nobody knows."""

    message: Message
    masked: str
    twice_does_harm: bool
    """Doses and dangers: two may be taken for two, so ring instead of sending again."""


class GatewayState:
    """Shows how sending stands, and keeps what somebody decided about a lost message."""

    def __init__(self, office: Office) -> None:
        self._office, self._post = office, Post(office.new_id)

    def counts(self, account: Account) -> Mapping[State, int]:
        """Return how many messages stand in each state."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            return work.outbox.counts()

    def given_up(self, account: Account, now: datetime) -> tuple[GivenUp, ...]:
        """Return what was given up and nobody has decided about, the newest first."""
        need(account, "operator")
        with self._office.work() as work:
            decided = _decided(work)
            found = tuple(
                GivenUp(message, masked(number), RULES[message.kind].in_doubt == "hold")
                for message, number in work.outbox.given_up(MOST_SHOWN + len(decided))
                if message.id not in decided
            )[:MOST_SHOWN]
            self._office.log(work, account, "message.given_up_seen", now, count=len(found))
        return found

    def resend(self, account: Account, message_id: str, now: datetime) -> Message | None:
        """Send a message again, as a new row; return that row, None when it was sent already.

        Raises
        ------
        DeskRefused
            Unknown, not given up, or a kind of which two do harm.
        """
        need(account, "operator")
        with self._office.work() as work:
            old = self._given_up(work, message_id)
            if RULES[old.kind].in_doubt == "hold" and old.uncertain_since is not None:
                raise DeskRefused(
                    say("It may have arrived, and twice it does harm: ring the caller instead.")
                )
            key = f"again:{old.id}"
            letter = Letter(
                old.phone_id, old.kind, key, old.text, old.language, old.sender, batch=old.batch
            )
            new = self._post.put(work, letter, now)
            self._decide(work, account, RESENT, old, now)
            again = (one for one in work.outbox.of_phone(old.phone_id) if one.dedupe_key == key)
            return next(again, None) if new else None

    def let_go(self, account: Account, message_id: str, now: datetime) -> None:
        """Decide that a message is not sent again."""
        need(account, "operator")
        with self._office.work() as work:
            self._decide(work, account, LET_GO, self._given_up(work, message_id), now)

    def _given_up(self, work: UnitOfWork, message_id: str) -> Message:
        message = work.outbox.get(message_id)
        if message is None:
            raise unknown()
        if message.open or message.state in ("delivered", "accepted"):
            raise DeskRefused(say("This message is not given up."))
        return message

    def _decide(
        self, work: UnitOfWork, account: Account, action: str, message: Message, now: datetime
    ) -> None:
        self._office.log(
            work, account, action, now, subject="message", subject_id=message.id,
            phone_id=message.phone_id, kind=message.kind, state=message.state,
        )  # fmt: skip


def _decided(work: UnitOfWork) -> frozenset[str]:
    lines = work.accounts.lines(actions=(RESENT, LET_GO), limit=MOST_DECIDED)
    return frozenset(line.subject_id for line in lines)
