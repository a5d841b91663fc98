"""The queue of matters for a person: claim, note, close, ask again; calls missed; near stops."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from service.channels.tickets import missed_call, put_ticket, reopened
from service.desk.office import Office, current_plot, known_phone, limited, need
from service.desk.refusals import Clash, DeskRefused, unknown
from service.desk.typed import several_lines
from service.phrases import say
from service.records import (
    Account,
    Consent,
    Review,
    Ticket,
    TicketKind,
    TicketNote,
    UnitOfWork,
    masked,
)

ASK_AFTER_DAYS = 4
"""When the caller is asked whether it worked [days], unless the operator chooses: our choice."""
LONGEST_ASK_DAYS = 60
LONGEST_TEXT = 1000
MOST_WAITING = 2000


@dataclass(frozen=True, slots=True)
class QueueLine:
    """A ticket as the queue shows it."""

    ticket: Ticket
    masked: str
    names: tuple[str, ...]
    district: str
    claimed_by: str
    """The name of the account that has it; empty while nobody has."""
    waits: timedelta


@dataclass(frozen=True, slots=True)
class TicketView:
    """One ticket with all that was written beside it."""

    line: QueueLine
    number: str
    """In full, for it is there to be rung."""
    notes: tuple[tuple[TicketNote, str], ...]
    """Each note with the name of its account."""


class Tickets:
    """Takes care that each matter has one person, and an end."""

    def __init__(self, office: Office) -> None:
        self._office = office

    def queue(
        self, account: Account, now: datetime, kinds: Iterable[TicketKind] = ()
    ) -> tuple[QueueLine, ...]:
        """Return what waits: dangers first, then the oldest; of some kinds only if named."""
        need(account, "operator", "officer")
        wanted, only = frozenset(kinds), limited(account)
        with self._office.work() as work:
            lines = tuple(
                line
                for ticket in work.tickets.waiting(MOST_WAITING)
                if not wanted or ticket.kind in wanted
                if (line := _line(work, ticket, now)) and (not only or line.district in only)
            )
            self._office.log(work, account, "ticket.queue_seen", now, count=len(lines))
        return lines

    def missed_calls(self, account: Account, now: datetime) -> tuple[QueueLine, ...]:
        """Return who rang and was not heard."""
        return self.queue(account, now, ("missed_call",))

    def see(self, account: Account, ticket_id: str, now: datetime) -> TicketView:
        """Return one ticket."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            ticket = self._found(work, account, ticket_id)
            number = work.phones.number(ticket.phone_id) or ""
            notes = tuple(
                (note, _name(work, note.account_id)) for note in work.tickets.notes(ticket_id)
            )
            self._log(work, account, "ticket.seen", now, ticket)
            return TicketView(_line(work, ticket, now), number, notes)

    def claim(self, account: Account, ticket_id: str, now: datetime) -> Ticket:
        """Take a ticket. Raises Clash when somebody else has it; taking it twice is no harm."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            ticket = self._found(work, account, ticket_id)
            if ticket.state == "closed":
                raise DeskRefused(say("This ticket is closed: open it again first."))
            if ticket.claimed_by == account.id:
                return ticket
            if ticket.state == "claimed":
                name = _name(work, ticket.claimed_by)
                raise Clash(say("{name} has taken this ticket already.", name=name))
            claimed = replace(ticket, state="claimed", claimed_by=account.id, claimed_at=now)
            work.tickets.save(claimed)
            self._log(work, account, "ticket.claimed", now, ticket)
        return claimed

    def give_back(self, account: Account, ticket_id: str, now: datetime) -> Ticket:
        """Put a ticket that one holds (an admin: that anybody holds) back into the queue."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            ticket = self._held(work, account, ticket_id)
            free = replace(ticket, state="open", claimed_by=None, claimed_at=None)
            work.tickets.save(free)
            self._log(work, account, "ticket.given_back", now, ticket)
        return free

    def note(self, account: Account, ticket_id: str, text: str, now: datetime) -> TicketNote:
        """Write something beside a ticket, closed or not."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            ticket = self._found(work, account, ticket_id)
            note = TicketNote(self._office.new_id(), ticket_id, account.id, now, _text(text))
            work.tickets.add_note(note)
            self._log(work, account, "ticket.noted", now, ticket)
        return note

    def close(
        self,
        account: Account,
        ticket_id: str,
        outcome: str,
        now: datetime,
        *,
        ask_after_days: int | None = ASK_AFTER_DAYS,
    ) -> Ticket:
        """End a ticket that one holds: what came of it, and when the caller is asked if it worked.

        Raises
        ------
        DeskRefused
            Without an outcome, with a day to ask that lies too far off, or when another has it.
        """
        need(account, "operator", "officer")
        said = _text(outcome)
        if ask_after_days is not None and not 1 <= ask_after_days <= LONGEST_ASK_DAYS:
            raise DeskRefused(
                say("Ask after 1 to {most} days, or not at all.", most=LONGEST_ASK_DAYS)
            )
        with self._office.work() as work:
            ticket = self._held(work, account, ticket_id)
            days = None if ask_after_days is None else timedelta(days=ask_after_days)
            closed = replace(
                ticket,
                state="closed",
                closed_at=now,
                outcome=said,
                ask_on=None if days is None else (now + days).date(),
                worked=None,
            )
            work.tickets.save(closed)
            self._log(work, account, "ticket.closed", now, ticket)
        return closed

    def reopen(self, account: Account, ticket_id: str, now: datetime) -> Ticket:
        """Open a closed ticket again, for anybody to take."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            ticket = self._found(work, account, ticket_id)
            if ticket.state != "closed":
                raise DeskRefused(say("This ticket is open already."))
            opened = reopened(ticket)
            work.tickets.save(opened)
            self._log(work, account, "ticket.reopened", now, ticket)
        return opened

    def open(self, account: Account, phone_id: str, matter: str, now: datetime) -> Ticket:
        """Open a ticket by hand, such as after a talk on the road."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            known_phone(work, account, phone_id)
            new_id = self._office.new_id()
            plot = current_plot(work, phone_id)
            ticket = Ticket(
                new_id, phone_id, "call_back", f"desk:{new_id}", now, _text(matter),
                plot_id=plot.id if plot else None,
            )  # fmt: skip
            work.tickets.add(ticket)
            self._log(work, account, "ticket.opened", now, ticket)
        return ticket

    def note_missed_call(self, account: Account, phone_id: str, now: datetime) -> bool:
        """Keep that somebody rang and was not heard; False when it is known already."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            known_phone(work, account, phone_id)
            ticket = missed_call(phone_id, now, self._office.new_id)
            new = put_ticket(work, ticket)
            self._log(work, account, "ticket.missed_call", now, ticket)
        return new

    # --- texts that nearly say stop ---------------------------------------------------------------

    def reviews(self, account: Account, now: datetime) -> tuple[tuple[Review, str], ...]:
        """Return texts that nearly say stop, the oldest first, each with the number masked."""
        need(account, "operator")
        with self._office.work() as work:
            found = tuple(
                (review, masked(work.phones.number(review.phone_id) or ""))
                for review in work.consents.reviews()
            )
            self._office.log(work, account, "review.seen", now, count=len(found))
        return found

    def settle_review(self, account: Account, review_id: str, now: datetime, *, stop: bool) -> None:
        """Decide that a text meant stop, which then stands in the ledger, or did not."""
        need(account, "operator")
        with self._office.work() as work:
            review = next((one for one in work.consents.reviews(1000) if one.id == review_id), None)
            if review is None:
                raise unknown()
            if stop:
                work.consents.add(_stop_of(review, self._office.new_id(), now))
            work.consents.settle_review(review_id, now)
            self._office.log(
                work,
                account,
                "review.settled",
                now,
                subject="phone",
                subject_id=review.phone_id,
                stop=stop,
            )

    # ----------------------------------------------------------------------------------------------

    def _found(self, work: UnitOfWork, account: Account, ticket_id: str) -> Ticket:
        ticket = work.tickets.get(ticket_id)
        if ticket is None:
            raise unknown()
        known_phone(work, account, ticket.phone_id)
        return ticket

    def _held(self, work: UnitOfWork, account: Account, ticket_id: str) -> Ticket:
        ticket = self._found(work, account, ticket_id)
        if ticket.state == "closed":
            raise DeskRefused(say("This ticket is closed: open it again first."))
        if ticket.claimed_by != account.id and "admin" not in account.roles:
            raise DeskRefused(say("Take the ticket first, so that nobody else works on it."))
        return ticket

    def _log(
        self, work: UnitOfWork, account: Account, action: str, now: datetime, ticket: Ticket
    ) -> None:
        self._office.log(
            work, account, action, now, subject="ticket", subject_id=ticket.id,
            phone_id=ticket.phone_id, kind=ticket.kind,
        )  # fmt: skip


def _stop_of(review: Review, new_id: str, now: datetime) -> Consent:
    return Consent(new_id, review.phone_id, now, False, review.words, review.channel, by="operator")


def _line(work: UnitOfWork, ticket: Ticket, now: datetime) -> QueueLine:
    plot = work.plots.get(ticket.plot_id) if ticket.plot_id else current_plot(work, ticket.phone_id)
    return QueueLine(
        ticket=ticket,
        masked=masked(work.phones.number(ticket.phone_id) or ""),
        names=tuple(one.name for one in work.people.of_phone(ticket.phone_id)),
        district=plot.district if plot else "",
        claimed_by=_name(work, ticket.claimed_by),
        waits=now - ticket.opened_at,
    )


def _name(work: UnitOfWork, account_id: str | None) -> str:
    account = work.accounts.get(account_id) if account_id else None
    return account.name if account else ""


def _text(text: str) -> str:
    bare = several_lines(text, LONGEST_TEXT)
    if len(bare) < 2:
        raise DeskRefused(say("Write a few words first."))
    return bare
