"""A conversation moved by one message, whatever carries it: no store and no transport here."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal, TypeAlias

from service.channels.messages import Reply
from service.channels.offer import Offer, chosen
from service.dialogue import Command, Conversation, Dialogue, Outcome, Place, Vocabulary
from service.phrases import Screen, say
from service.records import Session, Step

Render: TypeAlias = Callable[[Screen, str], tuple[str, ...]]
LANGUAGE = "language"
"""The answer that belongs to the phone, not to the plot."""


@dataclass(frozen=True, slots=True)
class View:
    """Where a message leaves the caller: what is kept, and what is shown of it.

    `command` is "stop" or "start" when that is what was said.
    """

    session: Session
    screen: Screen
    closes: bool = False
    """Nothing is awaited after this, though the conversation may be taken up again."""
    command: Literal["stop", "start"] | None = None

    @property
    def misread(self) -> bool:
        """Whether the message was not understood."""
        return any(code.startswith("misread:") for code in self.session.notice)


class Talk:
    """Moves sessions through the conversations of a book."""

    def __init__(
        self,
        dialogue: Dialogue,
        vocabulary_for: Callable[[str], Vocabulary],
        context_for: Callable[[datetime], object],
    ) -> None:
        self._dialogue, self._offer = dialogue, Offer(dialogue.book)
        self._vocabulary_for, self.context_for = vocabulary_for, context_for

    def afresh(self, session: Session, known: Mapping[str, object], context: object) -> View:
        """Begin from the first question, with what is known of the plot.

        Whoever has chosen a language is not asked for it again.
        """
        answers = _with_language(known, session)
        outcome = self._dialogue.begin(session.language, context=context, answers=answers)
        return _standing_at(session, outcome)

    def opening(
        self, fresh: Session, standing: Session | None, known: Mapping[str, object], context: object
    ) -> View:
        """The first screen of a call: the offer to go on, if a conversation broke off."""
        begun = self.afresh(fresh, known, context)
        if standing is None or not _worth_going_on(standing, begun.session):
            return begun
        waiting = replace(
            fresh,
            plot_id=standing.plot_id,
            flow=standing.flow,
            flow_version=standing.flow_version,
            state=standing.state,
            history=standing.history,
            # What was corrected elsewhere meanwhile stands.
            answers={**standing.answers, **known},
            owner=standing.owner,
        )
        offered = _offering(waiting, self._offer.ask(fresh.language, context))
        return _held(offered) if standing.owner == "operator" else offered

    def answered(
        self, session: Session, text: str, known: Mapping[str, object], context: object
    ) -> View:
        """Take an answer, or a command; after "start" the conversation begins afresh."""
        if session.offering:
            return self._offered(session, text, known, context)
        words = self._vocabulary_for(session.language)
        if session.owner == "operator" and self.command(session, text) != "stop":
            # The caller has not seen the question now open, so the text answers nothing.
            return _held(_offering(session, self._offer.ask(session.language, context)))
        outcome = self._dialogue.answer(_conversation(session), text, words, context)
        if outcome.command == "stop":
            return View(session, outcome.screen, command="stop")
        if outcome.command == "start":
            return replace(self.afresh(session, known, context), command="start")
        return _standing_at(session, outcome)

    def begun_with(
        self, session: Session, flow: str, text: str, known: Mapping[str, object], context: object
    ) -> View:
        """Begin a conversation of a given name, and give it a text as its first answers."""
        begun = self.begun(session, flow, known, context).session
        return self.answered(begun, text, known, context)

    def begun(
        self, session: Session, flow: str, known: Mapping[str, object], context: object
    ) -> View:
        """Begin a conversation of a given name."""
        answers = _with_language(known, session)
        return _standing_at(session, self._dialogue.begin(session.language, flow, context, answers))

    def again(self, session: Session, context: object) -> View:
        """The question of a session once more, in today's version of it."""
        return _standing_at(session, self._dialogue.resume(_conversation(session), context))

    def in_language(self, session: Session, language: str, context: object) -> View:
        """The same screen in another language."""
        answers = {**session.answers, LANGUAGE: language}
        changed = replace(session, language=language, answers=answers, page=0)
        if session.offering:
            return _offering(changed, self._offer.ask(language, context))
        return _standing_at(changed, self._dialogue.resume(_conversation(changed), context))

    def command(self, session: Session, text: str) -> Command | None:
        """The command that a text is, by key or by word, whatever question is open."""
        keys = self._dialogue.book.navigation
        by_key: dict[str, Command] = {
            keys.back: "back", keys.main: "main", keys.more: "more", keys.help: "help"
        }  # fmt: skip
        words = self._vocabulary_for(session.language)
        return by_key.get(text.strip()) or words.command(text)

    def at_main_menu(self, session: Session) -> bool:
        """Whether a session stands at the main menu."""
        return (session.flow, session.state) == self._dialogue.main

    def at_its_end(self, session: Session) -> bool:
        """Whether nothing is asked any more where a session stands."""
        state = self._dialogue.book.find(Place(session.flow, session.state))
        return state is None or state.ends

    def _offered(
        self, session: Session, text: str, known: Mapping[str, object], context: object
    ) -> View:
        words = self._vocabulary_for(session.language)
        outcome = self._offer.answer(session, text, words, context)
        if outcome.command == "stop":
            return View(session, outcome.screen, command="stop")
        choice = chosen(outcome)
        own = replace(session, owner="caller")
        if choice == "again":
            return replace(self.afresh(own, known, context), command=outcome.command)
        if choice == "go-on":
            waiting = replace(_conversation(own), page=0, misreads=0, notice=())
            return _standing_at(own, self._dialogue.resume(waiting, context))
        return _offering(session, outcome)


def shown(view: View, pages: tuple[str, ...], step: Step, now: datetime) -> tuple[Session, Reply]:
    """The session to keep, and the page to show of it."""
    # "More" after the last page shows the first again.
    page = view.session.page % len(pages)
    ended = view.screen.ends and page == len(pages) - 1
    more = not (ended or view.closes)
    reply = Reply(pages[page], more=more, language=view.session.language)
    kept = replace(
        view.session,
        page=page,
        open=not ended,
        last_step=step.number,
        last_body_hash=step.body_hash,
        last_reply=reply.text,
        last_more=reply.more,
        updated_at=now,
    )
    return kept, reply


def kept_reply(session: Session) -> Reply:
    """The reply that a repeated message gets again."""
    return Reply(session.last_reply, more=session.last_more, language=session.language)


def _with_language(known: Mapping[str, object], session: Session) -> dict[str, object]:
    """What is known, and the language if it was ever chosen."""
    chosen = {LANGUAGE: session.language} if LANGUAGE in session.answers else {}
    return {**known, **chosen}


def _worth_going_on(standing: Session, begun: Session) -> bool:
    """Whether anything would be lost by starting again: answers, and a place of one's own."""
    answered = any(name != LANGUAGE for name in standing.answers)
    return answered and (standing.flow, standing.state) != (begun.flow, begun.state)


def _conversation(session: Session) -> Conversation:
    return Conversation(
        flow=session.flow,
        flow_version=session.flow_version,
        state=session.state,
        history=tuple(Place(flow, state) for flow, state in session.history),
        answers=session.answers,
        language=session.language,
        page=session.page,
        misreads=session.misreads,
        notice=session.notice,
    )


def _standing_at(session: Session, outcome: Outcome) -> View:
    conversation = outcome.conversation
    kept = replace(
        session,
        flow=conversation.flow,
        flow_version=conversation.flow_version,
        state=conversation.state,
        history=tuple((place.flow, place.state) for place in conversation.history),
        answers=conversation.answers,
        language=conversation.language,
        page=conversation.page,
        misreads=conversation.misreads,
        notice=conversation.notice,
        offering=False,
    )
    return View(kept, outcome.screen)


def _offering(session: Session, outcome: Outcome) -> View:
    """The offer's own place is not kept: what waits behind it is."""
    asked = outcome.conversation
    kept = replace(
        session, offering=True, page=asked.page, misreads=asked.misreads, notice=asked.notice
    )
    return View(kept, outcome.screen)


def _held(view: View) -> View:
    """The offer to go on alone, to a caller for whom an operator goes on at this moment."""
    # Translators: two choices follow: go on, or start again. budget: 90 septets or 40 units
    told = say("The helpline is filling this in for you.")
    return replace(view, screen=replace(view.screen, lines=(told, *view.screen.lines)))
