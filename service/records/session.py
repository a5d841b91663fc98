"""One conversation of one phone on one channel, as it stands between two messages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, NamedTuple, TypeAlias

Owner: TypeAlias = Literal["caller", "operator"]
StepStanding: TypeAlias = Literal["new", "repeated", "changed", "late"]


class Step(NamedTuple):
    """The key under which a reply is stored: the step of a session, and what was said in it."""

    number: int
    body_hash: str


@dataclass(frozen=True, slots=True)
class Session:
    """A session row. Frozen: a change is a new object, and `revision` says which one it replaces.

    `open` is false once the conversation has ended or a newer one has taken its place; the row
    stays, because a gateway may still repeat its last step. `offering` is true while the caller
    is asked whether to go on with an earlier conversation. `notice` is what the screen says above
    its question, such as why an answer was not understood.
    """

    id: str
    phone_id: str
    channel: str
    gateway_session: str
    flow: str
    flow_version: str
    state: str
    language: str
    updated_at: datetime
    plot_id: str | None = None
    history: tuple[tuple[str, str], ...] = ()
    answers: Mapping[str, object] = field(default_factory=dict, repr=False)
    page: int = 0
    misreads: int = 0
    notice: tuple[str, ...] = ()
    owner: Owner = "caller"
    open: bool = True
    offering: bool = False
    revision: int = 0
    last_step: int = 0
    last_body_hash: str = ""
    last_reply: str = field(default="", repr=False)
    last_more: bool = True

    def standing(self, step: Step) -> StepStanding:
        """Say what a step is to this session.

        "new" is any later step: one that was skipped never reached us, so the caller still
        looks at the last screen. "repeated" is the last step again, "changed" the last step
        with other words, "late" one that came before it.
        """
        if step.number > self.last_step:
            return "new"
        if step.number < self.last_step:
            return "late"
        return "repeated" if step.body_hash == self.last_body_hash else "changed"
