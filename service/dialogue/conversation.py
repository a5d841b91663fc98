"""Where one caller stands: all that must be kept between two answers, and nothing else."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from service.dialogue.machine import Place


@dataclass(frozen=True, slots=True)
class Conversation:
    """A conversation between two answers.

    `history` are the questions gone through, oldest first; `notice` is what the screen says
    above its question (see `screens`), kept so that every page of a screen can be shown again.
    """

    flow: str
    flow_version: str
    state: str
    history: tuple[Place, ...] = ()
    answers: Mapping[str, object] = field(default_factory=dict)
    language: str = "en"
    page: int = 0
    misreads: int = 0
    notice: tuple[str, ...] = ()

    @property
    def place(self) -> Place:
        """The flow and state of the question now open."""
        return Place(self.flow, self.state)

    def to_dict(self) -> dict[str, Any]:
        """The conversation as JSON values."""
        return {
            "flow": self.flow,
            "flow_version": self.flow_version,
            "state": self.state,
            "history": [list(place) for place in self.history],
            "answers": dict(self.answers),
            "language": self.language,
            "page": self.page,
            "misreads": self.misreads,
            "notice": list(self.notice),
        }

    def to_json(self) -> str:
        """The conversation as one line of JSON."""
        return json.dumps(self.to_dict(), ensure_ascii=False, allow_nan=False, sort_keys=True)

    @classmethod
    def from_dict(cls, raw: Mapping[str, Any]) -> Conversation:
        """The conversation that `to_dict` wrote.

        Raises
        ------
        ValueError
            When a field is missing or is not what `to_dict` writes.
        """
        try:
            return cls(
                flow=str(raw["flow"]),
                flow_version=str(raw["flow_version"]),
                state=str(raw["state"]),
                history=tuple(Place(flow, state) for flow, state in raw["history"]),
                answers=dict(raw["answers"]),
                language=str(raw["language"]),
                page=int(raw["page"]),
                misreads=int(raw["misreads"]),
                notice=tuple(str(code) for code in raw.get("notice", ())),
            )
        except (KeyError, TypeError, ValueError) as error:
            raise ValueError(f"not a stored conversation: {error!r}") from error

    @classmethod
    def from_json(cls, text: str | bytes) -> Conversation:
        """The conversation that `to_json` wrote; ValueError when it is none."""
        raw = json.loads(text)
        if not isinstance(raw, dict):
            raise ValueError(f"not a stored conversation: {type(raw).__name__}")
        return cls.from_dict(raw)


def with_page(conversation: Conversation, page: int) -> Conversation:
    """The same conversation on another page of its screen, the first being 0.

    Only the channel knows how many pages a screen has, so it brings the number back in range.
    """
    return replace(conversation, page=max(0, page))
