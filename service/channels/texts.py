"""One text message: it comes in, the session moves once, the reply stands in the outbox.

All of it is one transaction, keyed by the gateway's own id: a text delivered twice changes
nothing twice, and nobody who asked goes without the reply because a process ended in between.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Literal, Protocol, TypeAlias

from service.channels.anew import came_before, judged_anew
from service.channels.bounds import (
    MOST_ANSWERS,
    answered_lately,
    is_echo,
    is_in_vain,
    last_for_now,
    may_be_many,
    unanswered,
)
from service.channels.incoming_text import IncomingText
from service.channels.keeping import Effects, Keeper, Kept, caught_up, keep_all, known_of
from service.channels.post import Letter, Post
from service.channels.replies import Replies, Word
from service.channels.talk import LANGUAGE, Render, Talk, View, shown
from service.dialogue import Dialogue, Vocabulary
from service.records import (
    Caller,
    ConcurrentChange,
    Inbound,
    Phone,
    Review,
    Session,
    Step,
    UnitOfWork,
    require_aware,
)

CHANNEL = "sms"
ATTEMPTS = 6
"""How often a text is judged anew when another one changed the session first."""
IDLE = timedelta(hours=24)
"""After so long without a text the next one begins anew, unless a deployment says otherwise."""
PARTS_WITHIN = timedelta(minutes=10)
"""How long the parts of a long text wait for each other."""
_EVER = datetime(1970, 1, 1, tzinfo=UTC)

Taken: TypeAlias = Literal["taken", "repeated", "waiting"]


class Words(Vocabulary, Protocol):
    """The words of a language, among them the wish to be left alone."""

    def wish_to_stop(self, text: str, /) -> Literal["stop", "review", "no"]:
        """Whether a text says stop, or nearly."""


class Texts:
    """Takes text messages, one at a time; everything it needs is handed in.

    `answers_flow` is the conversation that a first text may answer without having been asked,
    such as "20 15 tomato 500"; None when there is none. `kept` picks the answers that describe
    the plot, `effects` writes what else the answers mean.
    """

    def __init__(
        self,
        *,
        dialogue: Dialogue,
        render: Render,
        words_for: Callable[[str], Words],
        unit_of_work: Callable[[], UnitOfWork],
        context_for: Callable[[datetime], object],
        new_id: Callable[[], str],
        language: str,
        answers_flow: str | None = None,
        kept: Kept = keep_all,
        effects: Effects | None = None,
        idle: timedelta = IDLE,
    ) -> None:
        self._talk = Talk(dialogue, words_for, context_for)
        self._keeper, self._post = Keeper(new_id, kept, effects), Post(new_id)
        self._replies = Replies(self._talk, answers_flow)
        self._render, self._words_for, self._unit_of_work = render, words_for, unit_of_work
        self._new_id, self._language, self._idle = new_id, language, idle

    def take(self, text: IncomingText, now: datetime) -> Taken:
        """Take one text, or one part of one.

        Raises
        ------
        Conflict
            When its id was already used for another text.
        ValueError
            When `now` carries no time zone.
        """
        require_aware(now)
        return judged_anew(
            lambda: self._judge(text, now),
            ATTEMPTS,
            "this text was not taken, too many came at once: send it again",
        )

    def first_kept(self, gateway: str, ids: Sequence[str], since: datetime) -> str | None:
        """Return the first of a gateway's ids under which a text or a part was kept since then."""
        require_aware(since)
        with self._unit_of_work() as work:
            for id_ in ids:
                earlier = work.inbox.find(gateway, id_)
                if earlier is not None and earlier.received_at >= since:
                    return id_
        return None

    def take_overdue(self, now: datetime) -> int:
        """Answer what came of texts whose other parts did not; return how many texts."""
        with self._unit_of_work() as work:
            found = work.inbox.overdue(require_aware(now) - PARTS_WITHIN)
        return sum(self._take_incomplete(one, now) for one in found)

    def _judge(self, text: IncomingText, now: datetime) -> Taken:
        with self._unit_of_work() as work:
            if came_before(work, text.gateway, text.id, text.body_hash, "text"):
                return "repeated"
            caller = work.caller(text.number, CHANNEL, "")
            phone = self._keeper.phone(work, caller, text.number, now)
            inbound = text.kept(self._new_id(), phone.id, now)
            taken = self._kept_and_answered(work, caller, phone, inbound, now)
            work.commit()
            return taken

    def _kept_and_answered(
        self, work: UnitOfWork, caller: Caller, phone: Phone, inbound: Inbound, now: datetime
    ) -> Taken:
        if inbound.parts == 1:
            work.inbox.add(replace(inbound, taken_at=now))
            self._answer(work, caller, phone, inbound, now)
            return "taken"
        work.inbox.add(inbound)
        parts = work.inbox.waiting(inbound, now - PARTS_WITHIN)
        if len({one.part for one in parts}) < inbound.parts:
            return "waiting"
        work.inbox.take(parts, now)
        self._answer(work, caller, phone, _joined(parts), now)
        return "taken"

    def _take_incomplete(self, part: Inbound, now: datetime) -> bool:
        try:
            with self._unit_of_work() as work:
                parts = work.inbox.waiting(part, _EVER)
                number = work.phones.number(part.phone_id)
                if not parts or number is None:
                    return False
                work.inbox.take(parts, now)
                caller = work.caller(number, CHANNEL, "")
                phone = self._keeper.phone(work, caller, number, now)
                self._answer(work, caller, phone, _joined(parts), now)
                work.commit()
                return True
        except ConcurrentChange:
            # Another process took them, or a late part came just now.
            return False

    def _answer(
        self, work: UnitOfWork, caller: Caller, phone: Phone, inbound: Inbound, now: datetime
    ) -> None:
        context, known = self._talk.context_for(now), known_of(caller.plot)
        session, is_new = self._session(work, caller, phone, inbound, now)
        if caller.phone is not None and may_be_many(session, is_new=is_new):
            session = replace(session, last_step=answered_lately(work, phone, now) - 1)
        left = MOST_ANSWERS - 1 - session.last_step
        if self._is_noise(session, inbound, left):
            return
        word = self._replies.word(session, inbound.text, known, context, is_new=is_new)
        if is_in_vain(session, word.view, inbound):
            word = unanswered(word)
        else:
            wish = self._words_for(session.language).wish_to_stop(inbound.text)
            word = self._heeded(work, word, wish, inbound, now)
            word = last_for_now(word) if left == 1 and word.view.screen.lines else word
        moved, text = self._shown(word.view, inbound, now)
        if is_new and word.view.command == "stop":
            # No question was shown, so the next text answers none.
            moved = replace(moved, open=False)
        before = session
        if is_new:
            # What was known already is no answer of this text.
            before = replace(session, answers={**known, **session.answers})
        moved = self._keeper.answers(work, caller, phone, before, moved)
        (work.sessions.add if is_new else work.sessions.save)(moved)
        self._keeper.language(work, phone, moved)
        if text:
            letter = Letter(
                phone.id, word.kind, f"answer:{inbound.id}", text, moved.language, inbound.recipient
            )
            self._post.put(work, letter, now)

    def _is_noise(self, session: Session, inbound: Inbound, left: int) -> bool:
        """Whether a text is left alone: too many came, or it is our own. STOP is always heeded."""
        if left > 0 and not is_echo(session, inbound.text):
            return False
        return self._talk.command(session, inbound.text) != "stop"

    def _session(
        self, work: UnitOfWork, caller: Caller, phone: Phone, inbound: Inbound, now: datetime
    ) -> tuple[Session, bool]:
        """The running conversation, or a new one, and whether it is new."""
        standing = caller.standing
        if standing is not None:
            idle = now - standing.updated_at > self._idle
            if not idle and not self._replies.ended(standing, inbound.text):
                return caught_up(standing, caller.plot), False
            work.sessions.save(replace(standing, open=False))
        language = phone.language or self._language
        return Session(
            id=self._new_id(),
            phone_id=phone.id,
            channel=CHANNEL,
            gateway_session=inbound.id,
            flow="",
            flow_version="",
            state="",
            language=language,
            answers={LANGUAGE: language} if phone.language else {},
            last_step=-1,
            updated_at=now,
        ), True

    def _heeded(
        self, work: UnitOfWork, word: Word, wish: str, inbound: Inbound, now: datetime
    ) -> Word:
        """Write a wish to stop or to start into the ledger, and confirm it once."""
        command, phone_id = word.view.command, inbound.phone_id
        if command is not None:
            changed = self._keeper.consent(
                work, phone_id, inbound.text, CHANNEL, now, given=command == "start"
            )
            return self._replies.confirmed(word, first=changed)
        if wish == "review":
            work.consents.add_review(Review(self._new_id(), phone_id, now, inbound.text, CHANNEL))
            return self._replies.reviewed(word)
        return word

    def _shown(self, view: View, inbound: Inbound, now: datetime) -> tuple[Session, str]:
        session = view.session
        if not view.screen.lines:
            return replace(session, updated_at=now), ""
        step = Step(session.last_step + 1, inbound.body_hash)
        moved, reply = shown(view, self._render(view.screen, session.language), step, now)
        return moved, reply.text


def _joined(parts: Sequence[Inbound]) -> Inbound:
    """The whole text, or what came of it; a part that came twice counts once."""
    by_number = {one.part: one.text for one in reversed(parts)}
    text = "".join(by_number[number] for number in sorted(by_number))
    return replace(parts[0], text=text)
