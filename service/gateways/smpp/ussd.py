"""USSD dialogues over SMPP: which delivery belongs to which, and the marks of the answer.

`ussd_service_op` is SMPP 3.4, 5.3.2.44; 3.4 lists it for submit_sm only and v5.0 (1.4.1) for both
ways. `its_session_info` (5.3.2.43) is made for another service and widely used for this one
(from memory, not verified): octet 1 numbers the session, octet 2 counts its steps in bits 7 to 1
and tells the end in bit 0.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

from service.gateways.smpp.codec import Address, MessageBody, Tlvs
from service.gateways.smpp.codes import Tag
from service.gateways.smpp.options import SmppOptions
from service.gateways.smpp.ports import UssdIn, UssdPhase
from service.gateways.smpp.receipts import TYPE_MASK

PSSD_INDICATION, PSSR_INDICATION = 0, 1
USSR_REQUEST = 2
PSSD_RESPONSE, PSSR_RESPONSE = 16, 17
USSR_CONFIRM = 18
CONVERSATION_ABORT = 0x18

_DIALLED = re.compile(r"[*#][0-9*#]*#")


class _Info(NamedTuple):
    """its_session_info."""

    session: int
    sequence: int
    end: bool


@dataclass(slots=True)
class Dialogue:
    """One caller's dialogue, from the dialled code to the last screen."""

    key: str
    caller: Address
    service: Address
    service_code: str = field(repr=False)
    begun_by: int
    step: int
    last_at: float
    info: _Info | None = None
    ended: bool = False

    def marks(self, *, more: bool) -> Tlvs:
        """Return the tags of the next screen."""
        final = PSSD_RESPONSE if self.begun_by == PSSD_INDICATION else PSSR_RESPONSE
        tlvs: Tlvs = ((Tag.USSD_SERVICE_OP, bytes([USSR_REQUEST if more else final])),)
        if self.info is None:
            return tlvs
        sequence = (self.info.sequence + 1) & 0x7F
        octets = bytes([self.info.session, sequence << 1 | (not more)])
        return (*tlvs, (Tag.ITS_SESSION_INFO, octets))


def is_ussd(message: MessageBody) -> bool:
    """Whether a delivery belongs to a USSD dialogue."""
    return message.tlv(Tag.USSD_SERVICE_OP) is not None


class Dialogues:
    """The dialogues that are open, by caller and session octet."""

    def __init__(self, options: SmppOptions, new_id: Callable[[], str]) -> None:
        self._options, self._new_id = options, new_id
        self._open: dict[tuple[str, int | None], Dialogue] = {}

    def read(
        self, message: MessageBody, text: str, again: bool, now: float
    ) -> tuple[Dialogue, UssdIn] | None:
        """Return the dialogue and step that a delivery stands for; None for one of no interest.

        `again` says that it is an earlier delivery repeated: then the step is the same.
        """
        self._forget(now - self._options.timers.ussd)
        info = _read_info(message)
        place = (message.source.number, info.session if info else None)
        operation = (message.tlv(Tag.USSD_SERVICE_OP) or b"\xff")[0]
        known = self._open.get(place)
        if self._is_abort(message, operation, info):
            return self._aborted(known)
        if operation in (PSSD_INDICATION, PSSR_INDICATION):
            if not (known and again):
                known = self._begin(message, text, operation, now)
            return self._at(place, known, info, now, "", "begin")
        if operation != USSR_CONFIRM:
            return None
        if known is None or (known.ended and not again):
            # Begun before this process was, or over: the conversation decides what to offer.
            known = self._begin(message, "", PSSR_INDICATION, now)
        if not again:
            known.step += 1
        return self._at(place, known, info, now, text, "continue")

    def _begin(self, message: MessageBody, text: str, operation: int, now: float) -> Dialogue:
        dialled = text if _DIALLED.fullmatch(text) else message.destination.number
        return Dialogue(
            self._new_id(), message.source, message.destination, dialled, operation, 0, now
        )

    def _at(
        self,
        place: tuple[str, int | None],
        dialogue: Dialogue,
        info: _Info | None,
        now: float,
        text: str,
        phase: UssdPhase,
    ) -> tuple[Dialogue, UssdIn]:
        dialogue.info, dialogue.last_at = info, now
        self._open[place] = dialogue
        question = UssdIn(
            session_key=dialogue.key,
            step=dialogue.step,
            source=self._options.number_of(dialogue.caller),
            service_code=dialogue.service_code,
            text=text,
            phase=phase,
        )
        return dialogue, question

    def _aborted(self, known: Dialogue | None) -> tuple[Dialogue, UssdIn] | None:
        if known is None or known.ended:
            return None
        known.ended = True
        source = self._options.number_of(known.caller)
        step = known.step + 1
        return known, UssdIn(known.key, step, source, known.service_code, "", "abort")

    def _is_abort(self, message: MessageBody, operation: int, info: _Info | None) -> bool:
        return (
            operation in self._options.ussd.abort_ops
            or message.esm_class & TYPE_MASK == CONVERSATION_ABORT
            or (info is not None and info.end)
        )

    def _forget(self, before: float) -> None:
        for place in [at for at, dialogue in self._open.items() if dialogue.last_at < before]:
            del self._open[place]


def _read_info(message: MessageBody) -> _Info | None:
    octets = message.tlv(Tag.ITS_SESSION_INFO) or b""
    if len(octets) != 2:
        return None
    return _Info(octets[0], octets[1] >> 1, bool(octets[1] & 1))
