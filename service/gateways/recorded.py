"""A gateway without a network, for tests: it answers as told and remembers what it got."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from threading import Lock

from service.channels import Accepted, Answer, Outgoing


@dataclass
class RecordedGateway:
    """Takes every message, unless other answers wait to be given first.

    `submitted` is every attempt in its order; `delivered` what a phone would have got: a
    repeatable gateway delivers each id once.
    """

    repeatable: bool = True
    submitted: list[Outgoing] = field(default_factory=list)
    delivered: list[Outgoing] = field(default_factory=list)
    _answers: Iterator[Answer] = field(default_factory=lambda: iter(()))
    _lock: Lock = field(default_factory=Lock)

    def will_answer(self, answers: Iterable[Answer]) -> None:
        """Give these answers to the next messages, then take all again."""
        self._answers = iter(answers)

    def submit(self, message: Outgoing, now: datetime) -> Answer:
        """Take one message."""
        with self._lock:
            answer = next(self._answers, Accepted())
            self.submitted.append(message)
            known = self.repeatable and any(one.id == message.id for one in self.delivered)
            if isinstance(answer, Accepted) and not known:
                self.delivered.append(message)
            return answer
