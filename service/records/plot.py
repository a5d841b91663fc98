"""A plot that lasts: what is known of it outlives the conversation in which it was told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot of a phone. Frozen: a change is a new object, `revision` says which it replaces.

    `answers` are what callers said that describes the plot, as JSON values. `calibration` is the
    measured flow of its emitters over the computed one, None until it was measured. Of the plots
    of a phone at most one is `current`: the one that a new conversation is about.
    """

    id: str
    phone_id: str
    created_at: datetime
    updated_at: datetime
    name: str = ""
    answers: Mapping[str, object] = field(default_factory=dict, repr=False)
    calibration: float | None = None
    current: bool = True
    revision: int = 0
    person_id: str | None = None

    @property
    def district(self) -> str:
        """The district as told, empty when it was not; kept in a column of its own."""
        return str(self.answers.get("district") or "")

    @property
    def crop(self) -> str:
        """The crop as told, empty when it was not; kept in a column of its own."""
        return str(self.answers.get("crop") or "")


def with_changes(
    kept: Mapping[str, object], before: Mapping[str, object], after: Mapping[str, object]
) -> dict[str, object]:
    """Return kept answers with what changed between two moments of one conversation.

    Two conversations about one plot may be open at once; each brings only its own changes, so
    that neither puts back what the other has corrected.
    """
    gone = before.keys() - after.keys()
    new = {name: value for name, value in after.items() if _differs(before, name, value)}
    return {**{name: value for name, value in kept.items() if name not in gone}, **new}


def _differs(before: Mapping[str, object], name: str, value: object) -> bool:
    return name not in before or before[name] != value
