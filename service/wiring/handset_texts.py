"""Texts of the handset page: taken as any gateway's, answered on the page and sent to nobody."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from types import TracebackType
from typing import Any, cast

from service.channels import IncomingText, Texts
from service.channels.reminder_choices import reminder_effects, together
from service.channels.talk import LANGUAGE
from service.channels.tickets import ticket_effects
from service.console import TextLine
from service.records import Message, Phone, UnitOfWork
from service.settings import Settings
from service.text.render import TWO_PARTS
from service.wiring.build import ANSWERS_FLOW, Service, renderer
from service.wiring.keys import new_id

GATEWAY = "handset"
CHANNEL = "sms"


class HandsetTexts:
    """What the page needs to be a phone that texts."""

    def __init__(self, service: Service, settings: Settings) -> None:
        self._unit_of_work = service.database.unit_of_work
        self._texts = Texts(
            dialogue=service.dialogue,
            render=renderer(service.catalogues, TWO_PARTS),
            words_for=service.words_for,
            unit_of_work=lambda: cast(UnitOfWork, _OnThePage(self._unit_of_work())),
            context_for=lambda now: service.context_for(now.astimezone(settings.time_zone)),
            new_id=new_id,
            language=settings.language,
            answers_flow=ANSWERS_FLOW,
            effects=together(ticket_effects(new_id), reminder_effects(new_id)),
            idle=settings.sms_idle,
        )

    def send(self, number: str, message_id: str, text: str, now: datetime) -> None:
        """Take a text. Raises Conflict for another text under the same id."""
        self._texts.take(IncomingText(GATEWAY, message_id, number, "", text), now)

    def thread(self, number: str, most: int) -> tuple[TextLine, ...]:
        """Return the last texts both ways, the newest last."""
        with self._unit_of_work() as work:
            phone = work.caller(number, CHANNEL, "").phone
            if phone is None:
                return ()
            came = [(one.received_at, 0, one.text) for one in work.inbox.of_phone(phone.id, most)]
            left = [(one.created_at, 1, one.text) for one in work.outbox.of_phone(phone.id, most)]
        lines = sorted([*came, *left], key=lambda line: line[:2])
        return tuple(TextLine(text, mine=side == 0) for _, side, text in lines[-most:])

    def speak(self, number: str, language: str, now: datetime) -> None:
        """Choose the language in which the next text is answered."""
        with self._unit_of_work() as work:
            caller = work.caller(number, CHANNEL, "")
            if caller.phone is None:
                work.phones.add(Phone(new_id(), number, language, now))
            else:
                work.phones.set_language(caller.phone.id, language)
            if caller.standing is not None:
                answers = {**caller.standing.answers, LANGUAGE: language}
                work.sessions.save(replace(caller.standing, language=language, answers=answers))
            work.commit()


class _OnThePage:
    """A unit of work whose outbox keeps a reply as one that has arrived: on the page."""

    def __init__(self, work: UnitOfWork) -> None:
        self._work = work

    def __enter__(self) -> _OnThePage:
        self._work.__enter__()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._work.__exit__(kind, error, trace)

    @property
    def outbox(self) -> _Arrived:
        """The table of messages, for replies that no gateway must get."""
        return _Arrived(self._work)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._work, name)


class _Arrived:
    """An outbox in which nothing waits."""

    def __init__(self, work: UnitOfWork) -> None:
        self._outbox = work.outbox

    def add(self, message: Message) -> bool:
        """Keep a message that is on the page already."""
        at = message.created_at
        arrived = replace(message, state="delivered", open=False, settled_at=at)
        return self._outbox.add(arrived)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._outbox, name)
