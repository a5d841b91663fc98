"""What the service asks of any store: repositories, and the unit of work around them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from types import TracebackType
from typing import NamedTuple, Protocol, Self

from service.errors import LitrelineError
from service.records.consent import Consent, Purpose, Review
from service.records.desk_ports import (
    Accounts,
    Farmers,
    People,
    Rain,
    ReminderChoices,
    Seasonals,
    Tickets,
)
from service.records.inbound import Inbound
from service.records.message import Claimed, Message, Receipt, Settlement, State
from service.records.phone import Phone
from service.records.plot import Plot
from service.records.session import Session


class ConcurrentChange(LitrelineError):
    """Somebody else changed or added the same row first; read again and decide again."""


class Caller(NamedTuple):
    """Who calls and what is known of the call: read in one statement at the start of a turn."""

    phone: Phone | None
    asked: Session | None
    """The session that carries the gateway's session id, open or not."""
    standing: Session | None
    """The open session of this phone on this channel; may be the same as `asked`."""
    plot: Plot | None = None
    """The plot that the phone's conversations are about now."""


class Phones(Protocol):
    """The table of numbers."""

    def add(self, phone: Phone) -> None:
        """Keep a new phone. Raises ConcurrentChange when the number is already kept."""

    def set_language(self, phone_id: str, language: str) -> None:
        """Remember the language a phone is answered in."""

    def find(self, number: str) -> Phone | None:
        """Return the phone of a number."""

    def number(self, phone_id: str) -> str | None:
        """Return the number of a phone."""

    def reached(self, phone_id: str) -> None:
        """Note that somebody is there after all: the days on which nobody was count no more."""

    def get(self, phone_id: str) -> Phone | None:
        """Return one phone."""

    def ending(self, digits: str, limit: int) -> tuple[Phone, ...]:
        """Return phones whose number ends with these digits, by number."""


class Sessions(Protocol):
    """The table of conversations."""

    def add(self, session: Session) -> None:
        """Keep a new session.

        Raises ConcurrentChange when the gateway's session id is already kept for the channel,
        or when the phone has another open session there.
        """

    def save(self, session: Session) -> None:
        """Replace the stored row by this one, with the next revision.

        Raises ConcurrentChange when the stored revision is no longer that of `session`.
        """

    def age(self, before: datetime, limit: int) -> int:
        """Delete sessions that nobody has used since before a moment; return how many."""

    def get(self, session_id: str) -> Session | None:
        """Return one session."""

    def open_of_phone(self, phone_id: str) -> tuple[Session, ...]:
        """Return the open sessions of a phone, the latest first."""


class Plots(Protocol):
    """The table of plots."""

    def add(self, plot: Plot) -> None:
        """Keep a new plot.

        Raises ConcurrentChange when the phone has another current plot.
        """

    def save(self, plot: Plot) -> None:
        """Replace the stored row by this one, with the next revision.

        Raises ConcurrentChange when the stored revision is no longer that of `plot`.
        """

    def get(self, plot_id: str) -> Plot | None:
        """Return one plot."""

    def of_phone(self, phone_id: str) -> tuple[Plot, ...]:
        """Return the plots of a phone, the oldest first."""


class Inbox(Protocol):
    """The table of texts that came in."""

    def find(self, gateway: str, message_id: str) -> Inbound | None:
        """Return what came under this key."""

    def add(self, inbound: Inbound) -> None:
        """Keep a text. Raises ConcurrentChange when its key is already kept."""

    def waiting(self, like: Inbound, since: datetime) -> tuple[Inbound, ...]:
        """Return the parts not yet taken that belong to the same text, in their order."""

    def take(self, inbound: Sequence[Inbound], at: datetime) -> None:
        """Note that these were taken. Raises ConcurrentChange when one was already."""

    def of_phone(self, phone_id: str, limit: int = 20) -> tuple[Inbound, ...]:
        """Return the last texts of a phone, the newest first."""

    def overdue(self, before: datetime) -> tuple[Inbound, ...]:
        """Return a part of each text of which some part has waited since before a moment."""

    def age(self, before: datetime, limit: int) -> int:
        """Delete texts that came before a moment, at most `limit`; return how many."""


class Consents(Protocol):
    """The ledger of consent, and the messages that a person should look at."""

    def add(self, consent: Consent) -> None:
        """Add a line; none is ever changed."""

    def latest(self, phone_id: str, purpose: Purpose = "reminders") -> Consent | None:
        """Return the line that counts."""

    def of_phone(self, phone_id: str) -> tuple[Consent, ...]:
        """Return every line of a phone, the newest first."""

    def settle_review(self, review_id: str, at: datetime) -> None:
        """Note that somebody has looked at a message."""

    def add_review(self, review: Review) -> None:
        """Put a message before a person."""

    def reviews(self, limit: int = 100) -> tuple[Review, ...]:
        """Return what nobody has settled yet, the oldest first."""


class Outbox(Protocol):
    """The table of messages to be sent: the only place where they are."""

    def add(self, message: Message) -> bool:
        """Keep a message; False, and nothing kept, when its dedupe key is already there."""

    def known(self, keys: Sequence[str]) -> frozenset[str]:
        """Return those of these dedupe keys that are there already."""

    def due(self, now: datetime) -> bool:
        """Whether the sender has anything to look at; takes no lock."""

    def oldest_due(self, now: datetime) -> datetime | None:
        """Return since when the oldest message that may leave has waited; None when none does."""

    def doubt(self, now: datetime, next_try: datetime) -> int:
        """Make uncertain what somebody began to submit and never settled; return how many."""

    def claim(self, owner: str, now: datetime, until: datetime, limit: int) -> tuple[Claimed, ...]:
        """Lease what may be sent now, the most urgent first; no two owners get the same.

        Of one phone, nothing is leased before what was queued earlier and is as urgent.
        """

    def submitting(self, owner: str, until: datetime) -> int:
        """Note that the bytes of all that an owner still leases are about to leave."""

    def settle(self, message_id: str, owner: str, settlement: Settlement) -> bool:
        """Keep what became of a leased message; False when a receipt or another came first."""

    def accepted(self, message_id: str, part_ids: Sequence[str], at: datetime) -> None:
        """Note that a gateway has a message after all, and its own ids of the parts.

        With ids of some parts only the message stays as it is.
        """

    def awaited(self, number: str) -> tuple[Message, ...]:
        """Return the last messages that left for a number and whose end is not known.

        The newest first, fifty at most.
        """

    def unheard(self, before: datetime, now: datetime) -> int:
        """Make unknown what was accepted and worth sending until before a moment.

        No receipt came for it. Return how many.
        """

    def age(self, before: datetime, limit: int) -> int:
        """Delete what was settled before a moment, with receipts as old; return how many rows."""

    def receive(self, receipt: Receipt) -> bool:
        """Keep a receipt and move its message forward; False when no message is known by it."""

    def get(self, message_id: str) -> Message | None:
        """Return one message."""

    def counts(self) -> dict[State, int]:
        """Return how many messages stand in each state."""

    def of_phone(self, phone_id: str, limit: int = 20) -> tuple[Message, ...]:
        """Return the last messages to a phone, the newest first."""

    def given_up(self, limit: int = 100) -> tuple[tuple[Message, str], ...]:
        """Return messages that never arrived or whose fate stays unknown, with their number.

        The newest first: the sender has stopped trying, so a person has to know.
        """


class UnitOfWork(Protocol):
    """One transaction: all that was written is kept by `commit`, or nothing is.

    Reading takes no lock; `revision` finds the change that came between. Leaving the block
    without `commit` undoes everything.
    """

    @property
    def phones(self) -> Phones:
        """The table of numbers."""

    @property
    def sessions(self) -> Sessions:
        """The table of conversations."""

    @property
    def plots(self) -> Plots:
        """The table of plots."""

    @property
    def inbox(self) -> Inbox:
        """The table of texts that came in."""

    @property
    def consents(self) -> Consents:
        """The ledger of consent."""

    @property
    def outbox(self) -> Outbox:
        """The table of messages to be sent."""

    @property
    def people(self) -> People:
        """The names behind the phones."""

    @property
    def farmers(self) -> Farmers:
        """Plots with whom they belong to."""

    @property
    def tickets(self) -> Tickets:
        """Matters for a person."""

    @property
    def rain(self) -> Rain:
        """Rain reports."""

    @property
    def accounts(self) -> Accounts:
        """Who may sign in, and the log."""

    @property
    def seasonals(self) -> Seasonals:
        """Seasonal messages."""

    @property
    def choices(self) -> ReminderChoices:
        """When phones want their reminders."""

    def caller(self, number: str, channel: str, gateway_session: str) -> Caller:
        """Read the phone, the session asked for, the open session and the plot, at once."""

    def commit(self) -> None:
        """Keep what was written. Raises ConcurrentChange when that is no longer possible."""

    def rollback(self) -> None:
        """Forget what was written."""

    def __enter__(self) -> Self:
        """Begin."""

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End; whatever was not committed is rolled back."""


def require_aware(moment: datetime) -> datetime:
    """Return the moment unchanged. Raises ValueError when it carries no time zone."""
    if moment.utcoffset() is None:
        raise ValueError(f"a moment without a time zone: {moment.isoformat()}")
    return moment
