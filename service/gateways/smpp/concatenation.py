"""Where a part stands in a long text: in the header of the part, or beside it.

Header elements: ETSI TS 123 040 V8.4.0, 9.2.3.24.1 and 9.2.3.24.8. `sar_*` parameters: SMPP 3.4,
5.3.2.22 to 5.3.2.24; never both (5.2.12).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple, TypeAlias

from service.gateways.smpp.codec import MessageBody, Tlvs
from service.gateways.smpp.codes import Tag

Concatenation: TypeAlias = Literal["udh", "sar"]

UDHI = 0x40
_CONCAT_8, _CONCAT_16 = 0x00, 0x08


class Place(NamedTuple):
    """Reference of a text, how many parts it has, and which of them this is, from 1."""

    reference: int
    total: int
    number: int


class Marks(NamedTuple):
    """What tells the place of a part: bits of esm_class, octets ahead of the text, tags."""

    esm_class: int = 0
    header: bytes = b""
    tlvs: Tlvs = ()


def marks(place: Place, form: Concatenation) -> Marks:
    """Return what to put on a part; a header has room for eight bits of the reference."""
    if form == "udh":
        header = bytes([5, _CONCAT_8, 3, place.reference & 0xFF, place.total, place.number])
        return Marks(esm_class=UDHI, header=header)
    return Marks(
        tlvs=(
            (Tag.SAR_MSG_REF_NUM, place.reference.to_bytes(2, "big")),
            (Tag.SAR_TOTAL_SEGMENTS, bytes([place.total])),
            (Tag.SAR_SEGMENT_SEQNUM, bytes([place.number])),
        )
    )


def content(message: MessageBody) -> tuple[Place | None, bytes]:
    """Return the place of a part, None for a text in one piece, and its octets without header.

    Marks that contradict themselves are left out of account: the text is what counts.
    """
    octets = message.short_message or message.tlv(Tag.MESSAGE_PAYLOAD) or b""
    end = 1 + octets[0] if octets else 0
    if message.esm_class & UDHI and 0 < end <= len(octets):
        return _sound(_in_header(octets[1:end])), octets[end:]
    return _sound(_beside(message)), octets


def _in_header(header: bytes) -> Place | None:
    for element, value in _elements(header):
        if element == _CONCAT_8 and len(value) == 3:
            return Place(*value)
        if element == _CONCAT_16 and len(value) == 4:
            return Place(int.from_bytes(value[:2], "big"), value[2], value[3])
    return None


def _elements(header: bytes) -> Iterator[tuple[int, bytes]]:
    start = 0
    while start + 2 <= len(header):
        end = start + 2 + header[start + 1]
        yield header[start], header[start + 2 : end]
        start = end


def _beside(message: MessageBody) -> Place | None:
    reference = message.number(Tag.SAR_MSG_REF_NUM)
    total = message.number(Tag.SAR_TOTAL_SEGMENTS)
    number = message.number(Tag.SAR_SEGMENT_SEQNUM)
    if reference is None or total is None or number is None:
        return None
    return Place(reference, total, number)


def _sound(place: Place | None) -> Place | None:
    return place if place and 1 <= place.number <= place.total and place.total > 1 else None
