"""One turn of a call: a message comes in, the session moves once, a reply goes out.

All of it is one transaction. A message that comes twice gets the reply that was kept and moves
nothing; of two that come at once, one moves the session and the other is judged anew.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

from service.channels.anew import judged_anew
from service.channels.keeping import Effects, Keeper, Kept, caught_up, keep_all, known_of
from service.channels.messages import Conflict, Incoming, Reply
from service.channels.talk import LANGUAGE, Render, Talk, View, kept_reply, shown
from service.dialogue import Dialogue, Vocabulary
from service.phrases import Screen, say
from service.records import (
    Caller,
    Phone,
    Session,
    UnitOfWork,
    require_aware,
)

ATTEMPTS = 4
"""How often a message is judged anew when another one changed the session first."""
OFFERED_FOR = timedelta(days=7)
"""How long a conversation that broke off is offered again, unless a deployment says otherwise."""


class Turns:
    """Takes messages of calls, one at a time; everything it needs is handed in.

    `kept` picks the answers that describe the plot and outlive the call; `effects` writes what
    else the answers mean.
    """

    def __init__(
        self,
        *,
        dialogue: Dialogue,
        render: Render,
        vocabulary_for: Callable[[str], Vocabulary],
        unit_of_work: Callable[[], UnitOfWork],
        context_for: Callable[[datetime], object],
        new_id: Callable[[], str],
        language: str,
        kept: Kept = keep_all,
        effects: Effects | None = None,
        offered_for: timedelta = OFFERED_FOR,
    ) -> None:
        self._talk = Talk(dialogue, vocabulary_for, context_for)
        self._keeper = Keeper(new_id, kept, effects)
        self._render, self._unit_of_work = render, unit_of_work
        self._new_id, self._language, self._offered_for = new_id, language, offered_for

    def take(self, incoming: Incoming, now: datetime) -> Reply:
        """Take one message and return what the caller sees next.

        Raises
        ------
        Conflict
            When its step was already used for another message, or lies before the last one.
        ValueError
            When `now` carries no time zone.
        """
        require_aware(now)
        return judged_anew(
            lambda: self._judge(incoming, now),
            ATTEMPTS,
            "this session id is in use: send the message again, or begin another session",
        )

    def _judge(self, incoming: Incoming, now: datetime) -> Reply:
        if incoming.phase == "abort":
            # The session stays as it is and is offered again at the next dial.
            return Reply("", more=False)
        with self._unit_of_work() as work:
            caller = work.caller(incoming.number, incoming.channel, incoming.gateway_session)
            if caller.asked is None:
                reply = self._first(work, caller, incoming, now)
            elif (standing := caller.asked.standing(incoming.key)) == "repeated":
                return kept_reply(caller.asked)
            elif standing != "new":
                raise Conflict(_CONFLICTS[standing].format(step=incoming.step))
            elif not caller.asked.open:
                return self._closed(caller.asked)
            else:
                reply = self._next(work, caller, caller.asked, incoming, now)
            work.commit()
            return reply

    def _first(self, work: UnitOfWork, caller: Caller, incoming: Incoming, now: datetime) -> Reply:
        """The first message of a gateway session that we see, whatever its step."""
        context = self._talk.context_for(now)
        phone = self._keeper.phone(work, caller, incoming.number, now)
        if caller.standing is not None:
            work.sessions.save(replace(caller.standing, open=False))
        fresh = self._fresh(phone, incoming, now)
        known = known_of(caller.plot)
        view = self._talk.opening(fresh, self._offered(caller.standing, now), known, context)
        session, reply = self._shown(view, incoming, now)
        work.sessions.add(session)
        self._keeper.language(work, phone, session)
        return reply

    def _fresh(self, phone: Phone, incoming: Incoming, now: datetime) -> Session:
        language = incoming.language or phone.language or self._language
        chosen = incoming.language or phone.language
        return Session(
            id=self._new_id(),
            phone_id=phone.id,
            channel=incoming.channel,
            gateway_session=incoming.gateway_session,
            flow="",
            flow_version="",
            state="",
            language=language,
            answers={LANGUAGE: language} if chosen else {},
            updated_at=now,
        )

    def _offered(self, standing: Session | None, now: datetime) -> Session | None:
        recent = standing is not None and now - standing.updated_at <= self._offered_for
        return standing if recent else None

    def _next(
        self, work: UnitOfWork, caller: Caller, asked: Session, incoming: Incoming, now: datetime
    ) -> Reply:
        session = caught_up(asked, caller.plot)
        context = self._talk.context_for(now)
        if incoming.language and incoming.language != session.language:
            view = self._talk.in_language(session, incoming.language, context)
        else:
            text, known = incoming.readable_text, known_of(caller.plot)
            view = self._talk.answered(session, text, known, context)
        view = self._heeded(work, view, incoming, now)
        moved, reply = self._shown(view, incoming, now)
        if caller.phone is not None:
            moved = self._keeper.answers(work, caller, caller.phone, session, moved)
            self._keeper.language(work, caller.phone, moved)
        work.sessions.save(moved)
        return reply

    def _heeded(self, work: UnitOfWork, view: View, incoming: Incoming, now: datetime) -> View:
        """Write "stop" and "start" into the ledger of consent, and say so."""
        phone_id, words = view.session.phone_id, incoming.readable_text
        if view.command == "stop":
            self._keeper.consent(work, phone_id, words, incoming.channel, now, given=False)
            return _stopped(view.session)
        if view.command == "start" and self._keeper.refused(work, phone_id):
            # Within a call "start" mostly means to begin again: it is a yes only after a no.
            self._keeper.consent(work, phone_id, words, incoming.channel, now, given=True)
        return view

    def _closed(self, session: Session) -> Reply:
        # Translators: a whole screen, the last of a call. budget: 160 septets or 70 units
        screen = Screen((say("This conversation has ended. Dial again for a new one."),), ends=True)
        text = self._render(screen, session.language)[0]
        return Reply(text, more=False, language=session.language)

    def _shown(self, view: View, incoming: Incoming, now: datetime) -> tuple[Session, Reply]:
        pages = self._render(view.screen, view.session.language)
        return shown(view, pages, incoming.key, now)


_CONFLICTS = {
    "changed": "step {step} of this session was already taken with other words",
    "late": "step {step} lies before the last one taken in this session",
}


def _stopped(session: Session) -> View:
    # Translators: a whole screen, the last of a call. budget: 160 septets or 70 units
    screen = Screen((say("Stopped, reminders too. Your answers are kept: dial again to go on."),))
    return View(replace(session, page=0), screen, closes=True, command="stop")
