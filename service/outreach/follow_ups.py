"""Some days after a person at the helpline closed a matter: one text that asks whether it worked.

It is answered in the helpline conversation. Like a reminder it goes to nobody who did not agree
to be written to; whom that leaves out stays with the desk, to be rung.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

from service.advice import helpline_words
from service.channels import Letter, Post
from service.channels.verdict import MOST_FAILED_DAYS
from service.outreach.fitting import Piece, Translate, piece, spoken, text_of
from service.outreach.places import Places
from service.outreach.reminders import Scan, scanned
from service.outreach.weekly_words import FIRST, MUST, bare_date
from service.phrases import say
from service.records import Phone, Ticket, UnitOfWork, require_aware

ASKED_FOR = timedelta(days=14)
"""How long after its day a question is still worth asking (our choice)."""
MOST = 2000
"""Questions of one scan."""
RED_FLAGS = frozenset(helpline_words.RED_FLAGS)


class FollowUps:
    """Asks whether it worked."""

    def __init__(
        self,
        *,
        unit_of_work: Callable[[], UnitOfWork],
        translate: Translate,
        new_id: Callable[[], str],
        places: Places,
        language: str,
        most: int = MOST,
    ) -> None:
        self._unit_of_work, self._translate = unit_of_work, translate
        self._post, self._places, self._language = Post(new_id), places, language
        self._most = most

    def scan(self, now: datetime) -> Scan:
        """Queue a question for each ticket whose day has come; one queued before stays."""
        done: Counter[str] = Counter()
        now = require_aware(now).astimezone(UTC)
        today = self._places.local("", now).date()
        with self._unit_of_work() as work:
            tickets = work.tickets.to_ask(today, self._most, today - ASKED_FOR)
            known = work.outbox.known([_key(ticket) for ticket in tickets])
            for place, ticket in enumerate(tickets):
                done["looked_at"] += 1
                if _key(ticket) in known:
                    done["before"] += 1
                else:
                    done[self._asked(work, ticket, now, place)] += 1
            work.commit()
        return scanned(done)

    def _asked(self, work: UnitOfWork, ticket: Ticket, now: datetime, place: int) -> str:
        """Queue the question of a ticket; return what became of it."""
        phone = work.phones.get(ticket.phone_id)
        if phone is None or not phone.number.startswith("+"):
            return "left_out:no_number"
        word = work.consents.latest(phone.id)
        if word is None or not word.given:
            return "left_out:no_consent"
        if phone.failed_days >= MOST_FAILED_DAYS:
            return "left_out:number_paused"
        letter = self._letter(work, ticket, phone, now)
        return "queued" if self._post.put(work, letter, now, place) else "before"

    def _letter(self, work: UnitOfWork, ticket: Ticket, phone: Phone, now: datetime) -> Letter:
        plot = work.plots.get(ticket.plot_id) if ticket.plot_id else None
        district = plot.district if plot else ""
        begin = self._places.hours(district).next(now)
        language = spoken(phone.language, self._language)
        pieces = question(ticket, self._places.local(district, begin).date())
        text = text_of(pieces, self._translate, language)
        return Letter(phone.id, "reminder", _key(ticket), text, language, not_before=begin)


def _key(ticket: Ticket) -> str:
    # A ticket opened again and closed again has another day, and is asked about again.
    return f"follow-up:{ticket.id}:{ticket.ask_on}"


def question(ticket: Ticket, day: date) -> tuple[Piece, ...]:
    """Return the question: the caller's own words are left out where they take too much room."""
    # The word for a danger is ours, not the caller's.
    matter = "" if ticket.matter in RED_FLAGS else ticket.matter
    forms = (helpline_words.follow_up(matter), helpline_words.follow_up(""))
    # Translators: 'Helpline' is a line of the main menu.
    how = say("Tell us: menu, Helpline.")
    return (piece(MUST, bare_date(day)), Piece(MUST, forms), piece(FIRST, how))
