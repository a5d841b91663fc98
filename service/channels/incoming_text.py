"""A text message as a gateway hands it over."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from datetime import datetime

from service.channels.messages import readable
from service.records import Inbound


@dataclass(frozen=True, slots=True)
class IncomingText:
    """A text, or part `part` of `parts` of a long one whose parts share a `reference`.

    `id` is the gateway's own, the same when it delivers the same text again. `number` is E.164.
    """

    gateway: str
    id: str
    number: str = field(repr=False)
    recipient: str
    text: str = field(repr=False)
    reference: int | None = None
    part: int = 1
    parts: int = 1

    @property
    def body_hash(self) -> str:
        """Tells a repetition from another text under the same id."""
        said = (self.number, self.recipient, self.text, self.reference, self.part, self.parts)
        whole = "\x1f".join(map(str, said))
        return hashlib.sha256(whole.encode("utf-8", "replace")).hexdigest()

    def kept(self, id_: str, phone_id: str, now: datetime) -> Inbound:
        """The row to keep of it."""
        return Inbound(
            id=id_,
            gateway=self.gateway,
            message_id=self.id,
            phone_id=phone_id,
            recipient=self.recipient,
            body_hash=self.body_hash,
            text=readable(self.text),
            received_at=now,
            reference=self.reference,
            part=self.part,
            parts=self.parts,
        )
