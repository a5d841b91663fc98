"""How often one number is answered by text: a flood, or a program that answers our answers.

Every answer costs money, and two programs that answer each other never tire. A person who has
been misread as often as this has been offered help many times, and gets an answer again with the
first text that can be read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from service.channels.replies import Word, with_line
from service.channels.talk import View
from service.phrases import Screen, say
from service.records import Inbound, Message, Phone, Session, UnitOfWork

MOST_ANSWERS = 60
"""Texts to one number within `WITHIN`: one a minute, more than a patient person sends."""
WITHIN = timedelta(hours=1)
MOST_MISREADS = 8
"""Texts in a row that mean nothing where the conversation stands, and are answered all the same."""
MOST_MISREADS_ALIKE = 3
"""The same, when it is the same text each time."""


def answered_lately(work: UnitOfWork, phone: Phone, now: datetime) -> int:
    """How many texts a phone was written within the hour, counted up to the most."""
    lately: Sequence[Message] = work.outbox.of_phone(phone.id, MOST_ANSWERS)
    return sum(now - WITHIN < one.created_at <= now for one in lately)


def may_be_many(session: Session, *, is_new: bool) -> bool:
    """Whether it is time to count: a conversation by text counts its own answers meanwhile."""
    return is_new or session.last_step >= MOST_ANSWERS - 2


def is_echo(session: Session, text: str) -> bool:
    """Whether a text is what we said last, sent back."""
    said = session.last_reply.split()
    return bool(said) and text.split() == said


def is_in_vain(session: Session, view: View, inbound: Inbound) -> bool:
    """Whether a text means nothing once more, and so often that nobody reads our answers."""
    if not view.misread:
        return False
    alike = session.last_body_hash == inbound.body_hash
    return view.session.misreads > (MOST_MISREADS_ALIKE if alike else MOST_MISREADS)


def unanswered(word: Word) -> Word:
    """The same without a word to the caller."""
    return replace(word, view=replace(word.view, screen=Screen(())))


def last_for_now(word: Word) -> Word:
    """The same, with why there will be no answer for a while."""
    # Translators: to somebody who has sent very many texts; an answer follows.
    # budget: 100 septets or 50 units
    told = say("That was many texts. The next answer is in an hour.")
    return replace(word, view=with_line(word.view, told))
