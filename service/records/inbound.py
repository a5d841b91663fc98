"""A text that came in, kept so that the same one a second time is known."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Inbound:
    """One message of a gateway: a whole text, or one part of a long one.

    `gateway` and `message_id` are the key under which a repetition is known, `body_hash` tells a
    repetition from another message under the same key. `taken_at` is empty while a part waits
    for the others.
    """

    id: str
    gateway: str
    message_id: str
    phone_id: str
    recipient: str
    body_hash: str
    text: str = field(repr=False)
    received_at: datetime
    reference: int | None = None
    part: int = 1
    parts: int = 1
    taken_at: datetime | None = None
