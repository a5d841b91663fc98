"""Finding a caller, and everything about them on one page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from service.desk.office import Office, known_phone, limited, need
from service.desk.refusals import DeskRefused, not_your_district
from service.desk.typed import one_line
from service.phrases import say
from service.records import (
    Account,
    Consent,
    Inbound,
    Message,
    Person,
    Phone,
    Plot,
    Session,
    Ticket,
    UnitOfWork,
    masked,
    read_number,
)
from service.records.number import NumberRefused

LEAST_DIGITS = 6
"""Fewer would find strangers: a million numbers share six digits, ten thousand only four."""
MOST_FOUND = 10
LOOKS_AN_HOUR = 120
"""Twice what somebody who answers calls all hour needs: our own judgement."""
LOOKED_FOR = "caller.looked_for"
SEEN = "caller.seen"
ADDED = "caller.added"
HOUR = timedelta(hours=1)
LINES_A_LOOK = 20
"""Pages of one caller that are opened in an hour, about; each is a line of the log."""
LAST_MESSAGES = 20


@dataclass(frozen=True, slots=True)
class Found:
    """One line of what a search found; the number masked, for somebody may look over a shoulder."""

    phone_id: str
    masked: str
    names: tuple[str, ...]
    plots: int


@dataclass(frozen=True, slots=True)
class CallerView:
    """Everything that is kept about one phone, as far as the desk needs it."""

    phone: Phone
    people: tuple[Person, ...]
    plots: tuple[Plot, ...]
    came_in: tuple[Inbound, ...]
    """The last texts of the caller, the newest first."""
    went_out: tuple[Message, ...]
    """The last messages to the caller, the newest first, sent or not."""
    tickets: tuple[Ticket, ...]
    sessions: tuple[Session, ...]
    """Conversations that stand open, the latest first."""
    consents: tuple[Consent, ...]
    """The ledger, the newest first: the first line counts."""

    @property
    def current(self) -> Plot | None:
        """The plot that a new conversation is about."""
        return next((plot for plot in self.plots if plot.current), None)

    @property
    def masked(self) -> str:
        """The number as it may stand in a heading."""
        return masked(self.phone.number)

    def plots_of(self, person_id: str | None) -> tuple[Plot, ...]:
        """Return the plots of one of the people of the phone; None for nobody's in particular."""
        return tuple(plot for plot in self.plots if plot.person_id == person_id)


class Callers:
    """Looks callers up, within a bound that no list of all numbers comes through."""

    def __init__(self, office: Office, region: str = "", looks_an_hour: int = LOOKS_AN_HOUR):
        self._office, self._region, self._most = office, region, looks_an_hour

    def by_number(self, account: Account, text: str, now: datetime) -> tuple[Found, ...]:
        """Find by a whole number, or by its last digits, six at least.

        Raises
        ------
        DeskRefused
            Not a number, fewer digits, or too many looks in this hour.
        """
        need(account, "operator", "officer")
        with self._office.work() as work:
            self._bounded(work, account, now)
            found = self._phones(work, text)
            return self._told(work, account, found, "number", now)

    def by_name(self, account: Account, text: str, now: datetime) -> tuple[Found, ...]:
        """Find by letters of a name, two at least. Raises DeskRefused as `by_number` does."""
        need(account, "operator", "officer")
        letters = one_line(text)
        if len(letters) < 2:
            raise DeskRefused(say("Send at least two letters of the name."))
        with self._office.work() as work:
            self._bounded(work, account, now)
            people = work.people.find(letters, MOST_FOUND)
            found = tuple({phone.id: phone for phone, _ in people}.values())
            return self._told(work, account, found, "name", now)

    def see(self, account: Account, phone_id: str, now: datetime) -> CallerView:
        """Return everything about one phone.

        Raises
        ------
        DeskRefused
            Unknown, outside the account's districts, or too many looks in this hour.
        """
        need(account, "operator", "officer")
        with self._office.work() as work:
            self._bounded(work, account, now, phone_id)
            phone = known_phone(work, account, phone_id)
            self._office.log(work, account, SEEN, now, subject="phone", subject_id=phone_id)
            return CallerView(
                phone=phone,
                people=work.people.of_phone(phone_id),
                plots=work.plots.of_phone(phone_id),
                came_in=work.inbox.of_phone(phone_id, LAST_MESSAGES),
                went_out=work.outbox.of_phone(phone_id, LAST_MESSAGES),
                tickets=work.tickets.of_phone(phone_id),
                sessions=work.sessions.open_of_phone(phone_id),
                consents=work.consents.of_phone(phone_id),
            )

    def add(
        self, account: Account, number: str, now: datetime, language: str | None = None
    ) -> Phone:
        """Return the phone of a number, kept anew when it was not yet known."""
        need(account, "operator", "officer")
        read = read_or_refuse(number, self._region)
        with self._office.work() as work:
            self._bounded(work, account, now)
            phone = work.phones.find(read)
            hidden = phone is not None and not self._may_see(work, account, phone)
            # A refusal tells that the number is known, so it counts as a look too.
            action = LOOKED_FOR if hidden else SEEN if phone else ADDED
            if phone is None:
                phone = Phone(self._office.new_id(), read, language, now)
                work.phones.add(phone)
            self._office.log(work, account, action, now, subject="phone", subject_id=phone.id)
        if hidden:
            raise not_your_district()
        return phone

    def _may_see(self, work: UnitOfWork, account: Account, phone: Phone) -> bool:
        only = limited(account)
        return not only or any(one.plot.district in only for one in work.farmers.of_phone(phone.id))

    def _phones(self, work: UnitOfWork, text: str) -> tuple[Phone, ...]:
        digits = "".join(str(int(letter)) for letter in text if letter.isdecimal())
        try:
            exact = work.phones.find(read_number(text, self._region))
        except NumberRefused:
            exact = None
        if exact is not None:
            return (exact,)
        if len(digits) < LEAST_DIGITS:
            raise DeskRefused(
                say("Send the whole number, or at least its last {count} digits.", count=6)
            )
        return work.phones.ending(digits, MOST_FOUND)

    def _bounded(
        self, work: UnitOfWork, account: Account, now: datetime, phone_id: str = ""
    ) -> None:
        """Refuse one look too many; looking again at a caller already seen costs nothing."""
        # A new number counts too: whether it was new is an answer.
        actions = (LOOKED_FOR, SEEN, ADDED)
        most_lines = self._most * LINES_A_LOOK
        lines = work.accounts.lines(
            account_id=account.id, actions=actions, since=now - HOUR, limit=most_lines
        )
        seen = {line.subject_id for line in lines if line.action == SEEN}
        if phone_id in seen:
            return
        looks = len(seen) + sum(line.action != SEEN for line in lines)
        if looks >= self._most or len(lines) == most_lines:
            raise DeskRefused(
                say(
                    "You have looked up {count} callers in an hour, the most there is."
                    " Wait some minutes, or ask an admin.",
                    count=self._most,
                )
            )

    def _told(
        self,
        work: UnitOfWork,
        account: Account,
        phones: tuple[Phone, ...],
        way: str,
        now: datetime,
    ) -> tuple[Found, ...]:
        only = limited(account)
        found = []
        for phone in phones:
            plots = work.plots.of_phone(phone.id)
            if only and not any(plot.district in only for plot in plots):
                continue
            names = tuple(one.name for one in work.people.of_phone(phone.id))
            found.append(Found(phone.id, masked(phone.number), names, len(plots)))
        self._office.log(work, account, LOOKED_FOR, now, subject="phone", way=way, found=len(found))
        return tuple(found)


def read_or_refuse(number: str, region: str) -> str:
    """Return a number in E.164. Raises DeskRefused with an example when it is none."""
    try:
        return read_number(number, region)
    except NumberRefused as error:
        raise DeskRefused(
            say("That is no phone number. Example: {example}", example="+10005550100")
        ) from error
