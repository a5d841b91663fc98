"""Delivery receipts: tags first, and the text of Appendix B where they are missing.

SMPP 3.4: 5.2.12 (esm_class), 5.2.28 (message_state), Appendix B (the text, which is "typical"
and differs between vendors). A message id is opaque and compared as text.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime, tzinfo
from typing import NamedTuple

from service.gateways.smpp.alphabet import text_of
from service.gateways.smpp.codec import MessageBody
from service.gateways.smpp.codes import Tag
from service.gateways.smpp.ports import DeliveryState, Receipt
from service.gateways.smpp.times import receipt_time

TYPE_MASK = 0x3C
RECEIPT, INTERMEDIATE = 0x04, 0x20
_UCS2 = 8

STATES: Mapping[int, DeliveryState] = {
    1: "enroute",
    2: "delivered",
    3: "expired",
    4: "deleted",
    5: "undeliverable",
    6: "accepted",
    7: "unknown",
    8: "rejected",
}
STATS: Mapping[str, DeliveryState] = {
    "ENROUTE": "enroute",
    "DELIVRD": "delivered",
    "EXPIRED": "expired",
    "DELETED": "deleted",
    "UNDELIV": "undeliverable",
    "ACCEPTD": "accepted",
    "UNKNOWN": "unknown",
    "REJECTD": "rejected",
}

_FIELD = re.compile(r"\b(id|submit date|done date|stat|err):(\S*)", re.IGNORECASE)
# Our own words follow behind this, and they may look like a field.
_QUOTED = re.compile(r"\btext:", re.IGNORECASE)


class ReceiptText(NamedTuple):
    """What the text of a receipt says; times are None where they cannot be read."""

    id: str
    stat: str
    err: str
    submit: datetime | None
    done: datetime | None
    quoted: str = ""


def read_receipt_text(text: str, zone: tzinfo) -> ReceiptText | None:
    """Read the text of a receipt; None when it tells no message id or no outcome."""
    head, *quoted = _QUOTED.split(text, maxsplit=1)
    found: dict[str, str] = {}
    for name, value in _FIELD.findall(head):
        found.setdefault(name.lower(), value)
    if not found.get("id") or not found.get("stat"):
        return None
    return ReceiptText(
        id=found["id"],
        stat=found["stat"].upper(),
        err=found.get("err", ""),
        submit=receipt_time(found.get("submit date", ""), zone),
        done=receipt_time(found.get("done date", ""), zone),
        quoted=quoted[0] if quoted else "",
    )


def is_receipt(message: MessageBody) -> bool:
    """Whether a delivery tells of a message of ours instead of carrying one of a phone."""
    if message.esm_class & TYPE_MASK in (RECEIPT, INTERMEDIATE):
        return True
    return None not in (message.tlv(Tag.RECEIPTED_MESSAGE_ID), message.tlv(Tag.MESSAGE_STATE))


def read_receipt(message: MessageBody, zone: tzinfo, arrived_at: datetime) -> Receipt | None:
    """Return the receipt in a delivery, or None when it names no message of ours."""
    told = _told_in_text(message, zone)
    tagged = message.tlv(Tag.RECEIPTED_MESSAGE_ID)
    id_ = tagged.split(b"\0", 1)[0].decode("latin-1") if tagged else told.id if told else ""
    reference = message.number(Tag.USER_MESSAGE_REFERENCE)
    if not id_ and reference is None:
        return None
    state = message.number(Tag.MESSAGE_STATE)
    if state is None:
        outcome = STATS.get(told.stat, "unknown") if told else "unknown"
    else:
        outcome = STATES.get(state, "unknown")
    at = told.done if told and told.done else arrived_at
    err, quoted = (told.err, told.quoted) if told else ("", "")
    return Receipt(id_, outcome, at, reference, err, quoted=quoted)


def _told_in_text(message: MessageBody, zone: tzinfo) -> ReceiptText | None:
    octets = message.short_message or message.tlv(Tag.MESSAGE_PAYLOAD) or b""
    # Centres write this text in ASCII whatever their default alphabet is; read as septets, an
    # underscore in an id would turn into another letter.
    coding = message.data_coding if message.data_coding == _UCS2 else 0
    return read_receipt_text(text_of(octets, coding, "latin1") or "", zone)
