"""Matters for a person, as conversations, missed calls and lost messages open them."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from service.advice.helpline_screens import MATTER, WANTED, danger_of, matter_of
from service.channels.calls import MissedCall
from service.channels.keeping import Effects
from service.records import Message, Phone, Session, Ticket, UnitOfWork, require_aware

Answers = Mapping[str, object]

YES, WORKED = "yes", "worked"
"""Stored as `ticket_wanted` by somebody who wants to be rung, and whom a remedy helped."""
NOT_OF_THE_PLOT = frozenset({"language", "measurements"})


def ticket_from(
    session: Session, before: Answers, now: datetime, new_id: Callable[[], str]
) -> Ticket | None:
    """Return the ticket that the last answer of a session opens; None when it opens none.

    It does when somebody asks to be rung back, and when they tell of a danger, asked for or not.
    The same matter of the same session and day has one key.
    """
    answers = session.answers
    if not _changed(before, answers):
        # Most turns: not one of them is looked through for words of danger.
        return None
    danger, told_now = danger_of(answers), before.get(MATTER) != answers.get(MATTER)
    if answers.get(WANTED) != YES and not (danger and told_now):
        return None
    matter = matter_of(answers)
    mark = hashlib.sha256(matter.encode("utf-8", "replace")).hexdigest()[:12]
    return Ticket(
        id=new_id(),
        phone_id=session.phone_id,
        kind="call_back",
        dedupe_key=f"call_back:{session.id}:{require_aware(now).date()}:{mark}",
        opened_at=now,
        matter=matter,
        danger=danger,
        plot_id=session.plot_id,
        so_far=so_far(session),
    )


def so_far(session: Session) -> dict[str, object]:
    """Return a conversation as it stands: flow, state and answers."""
    answers = {k: v for k, v in session.answers.items() if k not in NOT_OF_THE_PLOT}
    return {"flow": session.flow, "state": session.state, "answers": answers}


def _changed(before: Answers, after: Answers) -> bool:
    return any(before.get(name) != after.get(name) for name in (WANTED, MATTER, "ticket_said"))


def missed_call(phone_id: str, at: datetime, new_id: Callable[[], str]) -> Ticket:
    """Return the ticket of somebody who rang and was not heard; once an hour of one phone."""
    hour = require_aware(at).strftime("%Y-%m-%dT%H")
    return Ticket(new_id(), phone_id, "missed_call", f"missed_call:{phone_id}:{hour}", at)


def undelivered(message: Message, at: datetime, new_id: Callable[[], str]) -> Ticket:
    """Return the ticket of a message of which a person must know that it did not arrive."""
    return Ticket(
        new_id(),
        message.phone_id,
        "undelivered",
        f"undelivered:{message.id}",
        require_aware(at),
        so_far={"message_id": message.id, "kind": message.kind, "reason": message.reason},
    )


def put_ticket(work: UnitOfWork, ticket: Ticket) -> bool:
    """Keep a ticket; one of the same key that was closed is opened again. False: it stood open."""
    if work.tickets.add(ticket):
        return True
    for old in work.tickets.of_phone(ticket.phone_id):
        if old.dedupe_key == ticket.dedupe_key and old.state == "closed":
            work.tickets.save(reopened(old))
            return True
    return False


def reopened(ticket: Ticket) -> Ticket:
    """Return a closed ticket as open, for anybody to take."""
    return replace(
        ticket, state="open", claimed_by=None, claimed_at=None, closed_at=None, ask_on=None
    )


def heard_whether_it_worked(work: UnitOfWork, session: Session, before: Answers) -> bool:
    """Keep the answer to "did it work?" with the ticket that it is about; False: there is none."""
    said = session.answers.get(WANTED)
    if said not in (YES, WORKED) or not _changed(before, session.answers):
        return False
    for ticket in work.tickets.of_phone(session.phone_id):
        if ticket.state == "closed" and ticket.ask_on is not None and ticket.worked is None:
            work.tickets.save(replace(ticket, worked=said == WORKED))
            return True
    return False


def ticket_effects(new_id: Callable[[], str]) -> Effects:
    """Return what turns of a conversation write: tickets opened, and whether a remedy helped."""

    def effects(
        work: UnitOfWork, phone: Phone, before: Session, after: Session, now: datetime
    ) -> None:
        heard_whether_it_worked(work, after, before.answers)
        ticket = ticket_from(after, before.answers, now, new_id)
        if ticket is not None:
            put_ticket(work, ticket)

    return effects


@dataclass(frozen=True, slots=True)
class MissedCallTickets:
    """Whoever rang and was not heard gets a ticket; for `channels.Calls`."""

    new_id: Callable[[], str]

    def take(self, work: UnitOfWork, phone: Phone, call: MissedCall, now: datetime) -> None:
        """Open the ticket of a call."""
        put_ticket(work, missed_call(phone.id, call.at, self.new_id))
