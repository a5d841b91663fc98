"""What the desk and the reminders ask of any store, beside what conversations do."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import NamedTuple, Protocol

from service.records.account import Account, Audit
from service.records.consent import Consent
from service.records.inbound import Inbound
from service.records.message import Message
from service.records.person import Person
from service.records.phone import Phone
from service.records.plot import Plot
from service.records.rain import RainReport
from service.records.seasonal import Audience, Recipient, ReminderChoice, SeasonalMessage
from service.records.session import Session
from service.records.ticket import Ticket, TicketNote


class Farmer(NamedTuple):
    """One plot with whom it belongs to, as lists, reminders and seasonal messages need it."""

    phone: Phone
    plot: Plot
    person: Person | None
    consent: bool | None
    """The last word on reminders; None when nothing was ever said."""
    choice: ReminderChoice | None
    """The hour and day that the phone chose for reminders."""


class History(NamedTuple):
    """Everything kept about one phone."""

    phone: Phone
    people: tuple[Person, ...]
    plots: tuple[Plot, ...]
    sessions: tuple[Session, ...]
    inbound: tuple[Inbound, ...]
    outbox: tuple[Message, ...]
    consents: tuple[Consent, ...]
    tickets: tuple[Ticket, ...]
    notes: tuple[TicketNote, ...]
    choice: ReminderChoice | None


class People(Protocol):
    """Names behind the phones."""

    def add(self, person: Person) -> None:
        """Keep a person."""

    def save(self, person: Person) -> None:
        """Replace the row. Raises ConcurrentChange when its revision has moved on."""

    def get(self, person_id: str) -> Person | None:
        """Return one person."""

    def of_phone(self, phone_id: str) -> tuple[Person, ...]:
        """Return the people of a phone, the oldest first."""

    def find(self, name: str, limit: int) -> tuple[tuple[Phone, Person], ...]:
        """Return people whose name holds these letters (case aside), in the order of names."""


class Farmers(Protocol):
    """Plots with whom they belong to: current plots only, in the order of plot ids."""

    def page(self, audience: Audience, after: str, limit: int) -> tuple[Farmer, ...]:
        """Return the next plots after a plot id ("" for the first); `stages` are not looked at."""

    def count(self, audience: Audience) -> int:
        """Return how many plots `page` would return in all."""

    def of_phone(self, phone_id: str) -> tuple[Farmer, ...]:
        """Return all plots of a phone, current or not, the oldest first."""

    def districts(self) -> tuple[tuple[str, int], ...]:
        """Return each district that a plot names, and how many do."""

    def groups(self, districts: Sequence[str] = ()) -> tuple[tuple[str, int], ...]:
        """Return each group of people by name, and how many plots they have in these districts."""

    def history(self, phone_id: str) -> History | None:
        """Return everything kept about a phone; None when it is unknown."""

    def add_all(
        self,
        phones: Sequence[Phone],
        people: Sequence[Person],
        plots: Sequence[Plot],
        consents: Sequence[Consent],
    ) -> None:
        """Keep what a long list brings, many rows at a time.

        Raises ConcurrentChange when a number is already kept, or a phone has a current plot.
        """

    def erase(self, phone_id: str) -> int:
        """Delete everything kept about a phone, the number last; return how many rows went.

        What must stay so that a wish is honoured (that the number asked to be left alone) is
        the caller's to keep first.
        """


class Tickets(Protocol):
    """Matters for a person."""

    def add(self, ticket: Ticket) -> bool:
        """Keep a ticket; False, and nothing kept, when its dedupe key is already there."""

    def save(self, ticket: Ticket) -> None:
        """Replace the row. Raises ConcurrentChange when its revision has moved on."""

    def get(self, ticket_id: str) -> Ticket | None:
        """Return one ticket."""

    def waiting(self, limit: int = 200) -> tuple[Ticket, ...]:
        """Return tickets not closed: dangers first, then the oldest first."""

    def of_phone(self, phone_id: str) -> tuple[Ticket, ...]:
        """Return the tickets of a phone, the newest first."""

    def since(self, moment: datetime, limit: int = 2000) -> tuple[Ticket, ...]:
        """Return the tickets opened from a moment on, closed or not, the newest first."""

    def to_ask(self, day: date, limit: int = 500, since: date | None = None) -> tuple[Ticket, ...]:
        """Return closed tickets whose caller is to be asked by that day, not yet answered.

        Only those whose day is `since` or later, where that is given; the latest day first.
        """

    def add_note(self, note: TicketNote) -> None:
        """Keep a note."""

    def notes(self, ticket_id: str) -> tuple[TicketNote, ...]:
        """Return the notes of a ticket, the oldest first."""


class Rain(Protocol):
    """Rain reports."""

    def put(self, report: RainReport) -> None:
        """Keep a report in place of an earlier one of the same district and day."""

    def of_district(self, district: str, since: date) -> tuple[RainReport, ...]:
        """Return the reports of a district from a day on, the oldest first."""

    def since(self, since: date) -> tuple[RainReport, ...]:
        """Return the reports of every district from a day on, by district and day."""


class Accounts(Protocol):
    """Who may sign in, and the log."""

    def add(self, account: Account) -> None:
        """Keep an account. Raises ConcurrentChange when its name is taken."""

    def save(self, account: Account) -> None:
        """Replace the row. Raises ConcurrentChange when its revision has moved on."""

    def get(self, account_id: str) -> Account | None:
        """Return one account."""

    def named(self, name: str) -> Account | None:
        """Return the account of a name, case aside."""

    def all(self) -> tuple[Account, ...]:
        """Return every account, by name."""

    def log(self, line: Audit) -> None:
        """Add a line to the log; none is ever changed."""

    def lines(
        self,
        *,
        subject_id: str = "",
        account_id: str = "",
        actions: Sequence[str] = (),
        since: datetime | None = None,
        limit: int = 200,
    ) -> tuple[Audit, ...]:
        """Return lines of the log, the newest first; an empty filter means all."""


class Seasonals(Protocol):
    """Seasonal messages and their recipients."""

    def add(self, message: SeasonalMessage) -> None:
        """Keep a message."""

    def save(self, message: SeasonalMessage) -> None:
        """Replace the row. Raises ConcurrentChange when its revision has moved on."""

    def get(self, seasonal_id: str) -> SeasonalMessage | None:
        """Return one message."""

    def all(self, limit: int = 100) -> tuple[SeasonalMessage, ...]:
        """Return the messages, the newest first."""

    def add_recipients(self, recipients: Sequence[Recipient]) -> None:
        """Keep what became of a batch of plots; one that is there already stays as it is."""

    def recipients(
        self, seasonal_id: str, after: str, limit: int
    ) -> tuple[tuple[Recipient, Message | None], ...]:
        """Return recipients in the order of plot ids after one, with their outbox row."""

    def progress(self, seasonal_id: str) -> dict[str, int]:
        """Return how many recipients stand in each state of the outbox, and "left_out"."""

    def waiting(self, seasonal_id: str) -> int:
        """Return how many of its messages the sender has still to look at."""

    def cancel_queued(self, seasonal_id: str, at: datetime, reason: str) -> int:
        """Take what still waits in the outbox out of it (state "failed"); return how many.

        What a sender holds at this moment leaves; messages of a paused one are never leased.
        """


class ReminderChoices(Protocol):
    """When phones want their reminders."""

    def get(self, phone_id: str) -> ReminderChoice | None:
        """Return what a phone chose."""

    def put(self, choice: ReminderChoice) -> None:
        """Keep a choice in place of an earlier one."""
