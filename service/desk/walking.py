"""The caller's own conversation, walked by the operator: same files, same engine, same answers.

An operator walks afresh in a session of the channel "desk", or takes over the caller's open one.
While the operator has it, what the caller sends is not read as an answer: the caller is told who
is at it and asked whether to go on alone (see `channels.talk`); whoever goes on has it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from hashlib import sha256
from types import MappingProxyType

from service.advice import Context
from service.channels.keeping import Effects, Keeper, Kept, caught_up, keep_all
from service.channels.post import Letter, Post
from service.channels.talk import LANGUAGE, Talk, View
from service.channels.tickets import ticket_effects, ticket_from
from service.desk.office import Office, as_saved, current_plot, known_phone, known_plot, need
from service.desk.refusals import Clash, DeskRefused, unknown
from service.desk.speech import Seen, Speech
from service.dialogue import Dialogue
from service.phrases import Phrase, Screen, say
from service.records import Account, Caller, Phone, Plot, Session, UnitOfWork

CHANNEL = "desk"


@dataclass(frozen=True, slots=True)
class Walked:
    """Where a walk stands: the screen for the operator, and the same as the caller sees it."""

    session_id: str
    revision: int
    """Goes back with the next answer, so that a page sent twice moves nothing twice."""
    phone_id: str
    channel: str
    flow: str
    state: str
    language: str
    screen: Screen
    seen: Seen
    answers: Mapping[str, object]
    ends: bool
    understood: bool
    ticket_opened: bool = False


class Walking:
    """Walks conversations.

    `kept` picks the answers that describe the plot, `effects` writes what else they mean: the
    same as on the telephone, tickets when none are handed in.
    """

    def __init__(
        self,
        office: Office,
        dialogue: Dialogue,
        speech: Speech,
        context_for: Callable[[datetime], Context],
        language: str = "en",
        kept: Kept = keep_all,
        effects: Effects | None = None,
    ) -> None:
        self._office, self._dialogue, self._speech = office, dialogue, speech
        self._talk = Talk(dialogue, speech.words_for, context_for)
        self._keeper = Keeper(office.new_id, kept, effects or ticket_effects(office.new_id))
        self._post = Post(office.new_id)
        self._language = language

    @property
    def flows(self) -> tuple[str, ...]:
        """Return the conversations that can be walked."""
        return tuple(self._dialogue.book.flows)

    def first_words(self, danger: str) -> Phrase | None:
        """What the helpline says at once of a danger; None of anything else."""
        helpline = self._dialogue.book.flows.get("helpline")
        state = helpline.states.get(danger) if helpline is not None else None
        return Phrase(state.say) if state is not None and state.say is not None else None

    def begin(
        self, account: Account, phone_id: str, flow: str, now: datetime, plot_id: str | None = None
    ) -> Walked:
        """Begin a conversation about a plot, the current one unless another is named."""
        need(account, "operator")
        if flow not in self._dialogue.book.flows:
            raise unknown()
        with self._office.work() as work:
            phone = known_phone(work, account, phone_id)
            plot = _plot(work, account, phone, plot_id)
            for open_one in work.sessions.open_of_phone(phone_id):
                if open_one.channel == CHANNEL:
                    work.sessions.save(replace(open_one, open=False))
            known = plot.answers if plot else {}
            fresh = self._fresh(phone, plot, now)
            view = self._talk.begun(fresh, flow, known, self._talk.context_for(now))
            work.sessions.add(view.session)
            self._log(work, account, "walk.begun", now, view.session, flow=flow)
            return self._walked(view)

    def see(self, account: Account, session_id: str, now: datetime) -> Walked:
        """Return where a session stands, one's own walk or a caller's, without moving it."""
        need(account, "operator")
        with self._office.work() as work:
            session = _session(work, account, session_id)
            plot = _plot_of(work, session)
            self._log(work, account, "walk.seen", now, session)
            return self._walked(self._shown(caught_up(session, plot), now))

    def answer(
        self, account: Account, session_id: str, revision: int, text: str, now: datetime
    ) -> Walked:
        """Give the caller's answer, or a command such as back; the same answer twice counts once.

        Raises
        ------
        DeskRefused
            When the session is over, or the caller goes on alone.
        Clash
            When it has moved since the page was made.
        """
        need(account, "operator")
        with self._office.work() as work:
            session = _owned(work, account, session_id)
            if session.revision != revision:
                raise Clash(say("This page is old: the conversation has moved on. Look again."))
            phone, plot = known_phone(work, account, session.phone_id), _plot_of(work, session)
            asked = replace(caught_up(session, plot), owner="caller", offering=False)
            context = self._talk.context_for(now)
            view = self._talk.answered(asked, text, plot.answers if plot else {}, context)
            if view.command == "stop":
                raise DeskRefused(
                    say("To stop reminders use the caller's page, with the caller's words.")
                )
            moved, opened = self._kept(work, phone, plot, asked, view, now)
            self._log(work, account, "walk.answered", now, moved, flow=moved.flow)
            return replace(self._walked(replace(view, session=moved)), ticket_opened=opened)

    def back(self, account: Account, session_id: str, revision: int, now: datetime) -> Walked:
        """Go one question back, as the caller's key does."""
        key = self._dialogue.book.navigation.back
        return self.answer(account, session_id, revision, key, now)

    def take_over(self, account: Account, session_id: str, now: datetime) -> Walked:
        """Go on with a caller's open session where it stands."""
        need(account, "operator")
        with self._office.work() as work:
            session = _session(work, account, session_id)
            plot = _plot_of(work, session)
            taken = replace(caught_up(session, plot), owner="operator", offering=False)
            view = self._shown(taken, now)
            held = replace(view.session, owner="operator")
            work.sessions.save(held)
            self._log(work, account, "session.taken_over", now, held)
            return self._walked(replace(view, session=as_saved(held)))

    def hand_back(self, account: Account, session_id: str, now: datetime) -> None:
        """Let the caller go on; one who texts gets the question that is open now."""
        need(account, "operator")
        with self._office.work() as work:
            session = _owned(work, account, session_id)
            if session.channel == CHANNEL:
                raise DeskRefused(say("This conversation is the desk's own: just leave it."))
            view = self._shown(session, now)
            # Whoever dials has not seen the question now open, so no key may be read as its
            # answer: an unknown version makes the engine show it again first.
            version = view.session.flow_version if session.channel == "sms" else ""
            free = replace(view.session, owner="caller", flow_version=version, updated_at=now)
            work.sessions.save(free)
            if session.channel == "sms":
                self._send(work, free, view.screen, now)
            self._log(work, account, "session.handed_back", now, free)

    def leave(self, account: Account, session_id: str, now: datetime) -> None:
        """End a walk of the desk's own; the answers are kept with the plot."""
        need(account, "operator")
        with self._office.work() as work:
            session = _owned(work, account, session_id)
            if session.channel != CHANNEL:
                raise DeskRefused(say("This is the caller's conversation: hand it back instead."))
            work.sessions.save(replace(session, open=False, updated_at=now))
            self._log(work, account, "walk.left", now, session)

    # ----------------------------------------------------------------------------------------------

    def _fresh(self, phone: Phone, plot: Plot | None, now: datetime) -> Session:
        chosen = {LANGUAGE: phone.language} if phone.language else {}
        return Session(
            id=self._office.new_id(),
            phone_id=phone.id,
            channel=CHANNEL,
            gateway_session=self._office.new_id(),
            flow="",
            flow_version="",
            state="",
            language=phone.language or self._language,
            plot_id=plot.id if plot else None,
            answers=chosen,
            owner="operator",
            updated_at=now,
        )

    def _shown(self, session: Session, now: datetime) -> View:
        return self._talk.again(replace(session, offering=False), self._talk.context_for(now))

    def _kept(
        self,
        work: UnitOfWork,
        phone: Phone,
        plot: Plot | None,
        before: Session,
        view: View,
        now: datetime,
    ) -> tuple[Session, bool]:
        """Keep the session, what it tells of the plot, and whether that opens a ticket."""
        moved = replace(view.session, owner="operator", page=0, updated_at=now)
        if before.channel == CHANNEL:
            moved = replace(moved, open=not view.screen.ends)
        moved = self._keeper.answers(work, Caller(phone, None, None, plot), phone, before, moved)
        work.sessions.save(moved)
        self._keeper.language(work, phone, moved)
        opened = ticket_from(moved, before.answers, now, self._office.new_id) is not None
        return as_saved(moved), opened

    def _send(self, work: UnitOfWork, session: Session, screen: Screen, now: datetime) -> None:
        text = self._speech.sms(screen, session.language)[0]
        key = sha256(f"{session.id}:{session.revision}:{text}".encode()).hexdigest()[:16]
        letter = Letter(session.phone_id, "answer", f"handed_back:{key}", text, session.language)
        self._post.put(work, letter, now)

    def _walked(self, view: View) -> Walked:
        session = view.session
        return Walked(
            session_id=session.id,
            revision=session.revision,
            phone_id=session.phone_id,
            channel=session.channel,
            flow=session.flow,
            state=session.state,
            language=session.language,
            screen=view.screen,
            seen=self._speech.seen(view.screen, session.language),
            answers=MappingProxyType(dict(session.answers)),
            ends=view.screen.ends,
            understood=not view.misread,
        )

    def _log(
        self,
        work: UnitOfWork,
        account: Account,
        action: str,
        now: datetime,
        session: Session,
        **detail: object,
    ) -> None:
        self._office.log(
            work, account, action, now, subject="phone", subject_id=session.phone_id,
            session_id=session.id, channel=session.channel, **detail,
        )  # fmt: skip


def _session(work: UnitOfWork, account: Account, session_id: str) -> Session:
    session = work.sessions.get(session_id)
    if session is None:
        raise unknown()
    known_phone(work, account, session.phone_id)
    if not session.open:
        raise DeskRefused(say("This conversation has ended, or a newer one took its place."))
    return session


def _owned(work: UnitOfWork, account: Account, session_id: str) -> Session:
    session = _session(work, account, session_id)
    if session.owner != "operator":
        raise DeskRefused(say("The caller goes on alone. Take the conversation over first."))
    return session


def _plot(work: UnitOfWork, account: Account, phone: Phone, plot_id: str | None) -> Plot | None:
    if plot_id is None:
        return current_plot(work, phone.id)
    plot = known_plot(work, account, plot_id)
    if plot.phone_id != phone.id:
        raise unknown()
    return plot


def _plot_of(work: UnitOfWork, session: Session) -> Plot | None:
    if session.plot_id is not None:
        return work.plots.get(session.plot_id)
    return current_plot(work, session.phone_id)
