"""The one place where a number stands; all else refers to the random id."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Phone:
    """Somebody who can be answered: a number, or a name given to a page or a terminal.

    `number` is E.164 ("+" and digits) for a phone, "handset:..." for the page in a browser and
    "terminal:..." for a terminal. It is personal, so it is left out of `repr` and thereby of
    tracebacks and logs. `language` is None until the caller has chosen one.
    """

    id: str
    number: str = field(repr=False)
    language: str | None
    created_at: datetime
    failed_days: int = 0
    """On how many days the network said that nobody is there, with no word or delivery since."""
    failed_on: datetime | None = None
