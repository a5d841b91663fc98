"""What somebody said in the reminders conversation: a line in the ledger, and when texts come."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from service.advice.reminder_screens import HOUR, SAID, WANTED, WEEKDAY
from service.channels.keeping import Effects
from service.records import By, Consent, Phone, ReminderChoice, Session, UnitOfWork

_STATES = {"yes": True, "no": False}


def reminder_effects(new_id: Callable[[], str]) -> Effects:
    """Return what turns write that say yes or no to reminders, or choose their day and hour."""

    def effects(
        work: UnitOfWork, phone: Phone, before: Session, after: Session, now: datetime
    ) -> None:
        answers = after.answers
        if before.answers.get(SAID) == answers.get(SAID):
            return
        given = _STATES.get(str(answers.get(WANTED)))
        if given is not None:
            latest = work.consents.latest(phone.id)
            if latest is None or latest.given != given:
                words = f"{WANTED}={answers.get(WANTED)}"
                by: By = "operator" if after.owner == "operator" else "caller"
                work.consents.add(
                    Consent(new_id(), phone.id, now, given, words, after.channel, by=by)
                )
        hour, weekday = answers.get(HOUR), answers.get(WEEKDAY)
        if given and isinstance(hour, int) and isinstance(weekday, int):
            work.choices.put(ReminderChoice(phone.id, hour, weekday, now))

    return effects


def together(*all_effects: Effects) -> Effects:
    """Return effects that write what each of several writes."""

    def effects(
        work: UnitOfWork, phone: Phone, before: Session, after: Session, now: datetime
    ) -> None:
        for each in all_effects:
            each(work, phone, before, after, now)

    return effects
