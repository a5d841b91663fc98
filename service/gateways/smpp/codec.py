"""Octets of SMPP 3.4 PDUs and back: what we send, what we are sent, and nothing else.

Reading is generous where a fault cannot change the meaning (a response cut short, an unknown
command or tag, any type of number) and strict where it could: a request whose fields or tags do
not fit its length is refused.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

from service.gateways.smpp.codes import (
    INTERFACE_VERSION,
    RESPONSE_BIT,
    Command,
    Status,
    status_name,
)
from service.gateways.smpp.ports import SmppError

HEADER_OCTETS = 16
_HEADER = struct.Struct(">IIII")
_TLV_HEADER = struct.Struct(">HH")
MOST_SHORT_MESSAGE = 254
"""Most octets of `short_message` (SMPP 3.4, 3.2.3)."""

Tlvs: TypeAlias = tuple[tuple[int, bytes], ...]


class CodecError(SmppError, ValueError):
    """Octets that are no PDU; carries the status to answer with, and what to answer to."""

    def __init__(self, what: str, status: Status, command: int = 0, sequence: int = 0) -> None:
        self.status, self.command, self.sequence = status, command, sequence
        super().__init__(f"{what} ({status_name(status)})")


@dataclass(frozen=True, slots=True)
class Address:
    """A number or name with its type and numbering plan, whatever octets those are."""

    ton: int = 0
    npi: int = 0
    number: str = field(default="", repr=False)


@dataclass(frozen=True, slots=True)
class BindBody:
    """Who we are."""

    system_id: str = ""
    password: str = field(default="", repr=False)
    system_type: str = ""
    interface_version: int = INTERFACE_VERSION
    addresses: Address = Address()


@dataclass(frozen=True, slots=True)
class MessageBody:
    """What submit_sm and deliver_sm carry."""

    service_type: str = ""
    source: Address = Address()
    destination: Address = Address()
    esm_class: int = 0
    protocol_id: int = 0
    priority: int = 0
    schedule: str = ""
    validity: str = ""
    registered_delivery: int = 0
    replace_if_present: int = 0
    data_coding: int = 0
    default_message: int = 0
    short_message: bytes = field(default=b"", repr=False)
    tlvs: Tlvs = field(default=(), repr=False)

    def tlv(self, tag: int) -> bytes | None:
        """Value of the first optional parameter with a tag."""
        return next((value for found, value in self.tlvs if found == tag), None)

    def number(self, tag: int) -> int | None:
        """Value of an optional parameter that is a number."""
        value = self.tlv(tag)
        return int.from_bytes(value, "big") if value else None


@dataclass(frozen=True, slots=True)
class IdBody:
    """What responses carry: a name (to a bind) or a message id (to a message)."""

    id: str = ""
    tlvs: Tlvs = ()


@dataclass(frozen=True, slots=True)
class NoBody:
    """Nothing after the header."""


@dataclass(frozen=True, slots=True)
class RawBody:
    """Octets of a PDU that we do not read."""

    octets: bytes = field(default=b"", repr=False)


Body: TypeAlias = BindBody | MessageBody | IdBody | NoBody | RawBody


@dataclass(frozen=True, slots=True)
class Pdu:
    """One PDU: a request, or the response to the request with the same sequence number."""

    command: int
    sequence: int
    status: int = Status.ESME_ROK
    body: Body = NoBody()

    @property
    def is_response(self) -> bool:
        """Whether it answers a request; generic_nack does too."""
        return bool(self.command & RESPONSE_BIT)


def encode(pdu: Pdu) -> bytes:
    """Return the octets of a PDU.

    Raises ValueError for a text that is too long for its field or does not fit in Latin-1.
    """
    body = _body_octets(pdu.body)
    return _HEADER.pack(HEADER_OCTETS + len(body), pdu.command, pdu.status, pdu.sequence) + body


def decode(octets: bytes) -> Pdu:
    """Read exactly one PDU.

    Raises CodecError for a length that is not that of the octets, or a request whose fields do
    not fit in it. What a response carries is read as far as it goes.
    """
    if len(octets) < HEADER_OCTETS:
        raise CodecError(f"a PDU of {len(octets)} octets", Status.ESME_RINVCMDLEN)
    length, command, status, sequence = _HEADER.unpack_from(octets)
    if length != len(octets):
        what = f"command_length {length} on {len(octets)} octets"
        raise CodecError(what, Status.ESME_RINVCMDLEN, command, sequence)
    try:
        body = _READERS.get(command, _read_raw)(_Reader(octets))
    except _Short as fault:
        raise CodecError(fault.what, fault.status, command, sequence) from fault
    return Pdu(command, sequence, status, body)


class _Short(Exception):
    """The octets end before the field does."""

    def __init__(self, what: str, status: Status) -> None:
        self.what, self.status = what, status
        super().__init__(what)


class _Reader:
    """Takes fields off the front of a body."""

    def __init__(self, octets: bytes) -> None:
        self._octets, self._place = octets, HEADER_OCTETS

    @property
    def left(self) -> int:
        return len(self._octets) - self._place

    def take(self, count: int, what: str, status: Status = Status.ESME_RINVCMDLEN) -> bytes:
        if count > self.left:
            raise _Short(f"{what} of {count} octets where {self.left} are left", status)
        taken = self._octets[self._place : self._place + count]
        self._place += count
        return taken

    def octet(self, what: str) -> int:
        return self.take(1, what)[0]

    def string(self, what: str) -> str:
        end = self._octets.find(0, self._place)
        if end < 0:
            raise _Short(f"{what} without its end", Status.ESME_RINVCMDLEN)
        # Latin-1 reads any octet, and an address that is not ASCII is the centre's affair.
        text = self.take(end - self._place, what).decode("latin-1")
        self._place += 1
        return text

    def address(self, what: str) -> Address:
        return Address(self.octet(what), self.octet(what), self.string(what))

    def tlvs(self) -> Tlvs:
        found = []
        while self.left:
            head = self.take(4, "optional parameter", Status.ESME_RINVOPTPARSTREAM)
            tag, length = _TLV_HEADER.unpack(head)
            value = self.take(length, f"parameter 0x{tag:04X}", Status.ESME_RINVOPTPARSTREAM)
            found.append((tag, value))
        return tuple(found)


def _read_bind(reader: _Reader) -> BindBody:
    return BindBody(
        system_id=reader.string("system_id"),
        password=reader.string("password"),
        system_type=reader.string("system_type"),
        interface_version=reader.octet("interface_version"),
        addresses=reader.address("address_range"),
    )


def _read_message(reader: _Reader) -> MessageBody:
    return MessageBody(
        service_type=reader.string("service_type"),
        source=reader.address("source_addr"),
        destination=reader.address("destination_addr"),
        esm_class=reader.octet("esm_class"),
        protocol_id=reader.octet("protocol_id"),
        priority=reader.octet("priority_flag"),
        schedule=reader.string("schedule_delivery_time"),
        validity=reader.string("validity_period"),
        registered_delivery=reader.octet("registered_delivery"),
        replace_if_present=reader.octet("replace_if_present_flag"),
        data_coding=reader.octet("data_coding"),
        default_message=reader.octet("sm_default_msg_id"),
        short_message=reader.take(reader.octet("sm_length"), "short_message"),
        tlvs=reader.tlvs(),
    )


def _read_id(reader: _Reader) -> IdBody:
    """Read a response as far as it goes: whoever accepted has accepted, whatever follows."""
    try:
        found = reader.string("id")
    except _Short:
        return IdBody(reader.take(reader.left, "id").decode("latin-1"))
    try:
        return IdBody(found, reader.tlvs())
    except _Short:
        return IdBody(found)


def _read_nothing(_: _Reader) -> NoBody:
    return NoBody()


def _read_raw(reader: _Reader) -> RawBody:
    return RawBody(reader.take(reader.left, "body"))


_READERS: Mapping[int, Callable[[_Reader], Body]] = {
    Command.BIND_RECEIVER: _read_bind,
    Command.BIND_TRANSMITTER: _read_bind,
    Command.BIND_TRANSCEIVER: _read_bind,
    Command.BIND_RECEIVER.response: _read_id,
    Command.BIND_TRANSMITTER.response: _read_id,
    Command.BIND_TRANSCEIVER.response: _read_id,
    Command.SUBMIT_SM: _read_message,
    Command.SUBMIT_SM.response: _read_id,
    Command.DELIVER_SM: _read_message,
    Command.DELIVER_SM.response: _read_id,
    Command.UNBIND: _read_nothing,
    Command.UNBIND.response: _read_nothing,
    Command.ENQUIRE_LINK: _read_nothing,
    Command.ENQUIRE_LINK.response: _read_nothing,
    Command.GENERIC_NACK: _read_nothing,
}


def _string(what: str, text: str, most: int) -> bytes:
    octets = text.encode("latin-1")
    if len(octets) >= most or 0 in octets:
        raise ValueError(f"{what} takes at most {most - 1} octets and no zero among them")
    return octets + b"\0"


def _address(what: str, address: Address, most: int) -> bytes:
    return bytes([address.ton, address.npi]) + _string(what, address.number, most)


def _tlv_octets(tlvs: Tlvs) -> bytes:
    return b"".join(_TLV_HEADER.pack(tag, len(value)) + value for tag, value in tlvs)


def _bind_octets(bind: BindBody) -> bytes:
    return b"".join(
        (
            _string("system_id", bind.system_id, 16),
            _string("password", bind.password, 9),
            _string("system_type", bind.system_type, 13),
            bytes([bind.interface_version]),
            _address("address_range", bind.addresses, 41),
        )
    )


def _message_octets(message: MessageBody) -> bytes:
    if len(message.short_message) > MOST_SHORT_MESSAGE:
        raise ValueError(f"short_message takes at most {MOST_SHORT_MESSAGE} octets")
    return b"".join(
        (
            _string("service_type", message.service_type, 6),
            _address("source_addr", message.source, 21),
            _address("destination_addr", message.destination, 21),
            bytes([message.esm_class, message.protocol_id, message.priority]),
            _string("schedule_delivery_time", message.schedule, 17),
            _string("validity_period", message.validity, 17),
            bytes([message.registered_delivery, message.replace_if_present]),
            bytes([message.data_coding, message.default_message]),
            bytes([len(message.short_message)]),
            message.short_message,
            _tlv_octets(message.tlvs),
        )
    )


def _body_octets(body: Body) -> bytes:
    match body:
        case MessageBody():
            return _message_octets(body)
        case IdBody():
            return _string("id", body.id, 65) + _tlv_octets(body.tlvs)
        case BindBody():
            return _bind_octets(body)
        case RawBody():
            return body.octets
        case NoBody():
            return b""
