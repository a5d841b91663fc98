"""A text of ours as the submissions it takes."""

from __future__ import annotations

from datetime import datetime

from service.gateways.smpp.alphabet import octets_of
from service.gateways.smpp.codec import Address, MessageBody, Tlvs
from service.gateways.smpp.codes import Tag
from service.gateways.smpp.concatenation import Marks, Place, marks
from service.gateways.smpp.options import SmppOptions
from service.gateways.smpp.ports import Outgoing, reference_of
from service.gateways.smpp.times import validity
from service.text.measure import encoding_and_units, fits_ussd, split

_RECEIPT_WANTED = 1
_INTERNATIONAL, _ISDN, _ALPHANUMERIC = 1, 1, 5
_LONGEST_NAME = 11


def submissions(outgoing: Outgoing, options: SmppOptions, now: datetime) -> tuple[MessageBody, ...]:
    """Return one body for each part, all under the reference of the message.

    Raises ValueError for a text of more than 255 parts, or an address that is none.
    """
    # The alphabet is that of the whole text: a part that could do with the smaller one alone
    # must not be written in another than its neighbours.
    in_ucs2 = encoding_and_units(outgoing.text)[0] == "ucs2"
    parts = split(outgoing.text)
    reference = reference_of(outgoing.id)
    common = _common(outgoing, options, now, in_ucs2)
    return tuple(
        _part(common, text, in_ucs2, _marks(options, Place(reference, len(parts), number)))
        for number, text in enumerate(parts, start=1)
    )


def _common(outgoing: Outgoing, options: SmppOptions, now: datetime, in_ucs2: bool) -> MessageBody:
    return MessageBody(
        service_type=options.service_type,
        source=source_address(outgoing.sender or options.sender, options),
        destination=destination_address(outgoing.to),
        validity=validity(outgoing.valid_for, options.validity, now),
        registered_delivery=_RECEIPT_WANTED if outgoing.wants_receipt else 0,
        data_coding=options.ucs2_coding if in_ucs2 else options.gsm7_coding,
        tlvs=((Tag.USER_MESSAGE_REFERENCE, reference_of(outgoing.id).to_bytes(2, "big")),),
    )


def _marks(options: SmppOptions, place: Place) -> Marks:
    return marks(place, options.concatenation) if place.total > 1 else Marks()


def _part(common: MessageBody, text: str, in_ucs2: bool, put: Marks) -> MessageBody:
    octets = text.encode("utf-16-be", "replace") if in_ucs2 else octets_of(text)[1]
    return MessageBody(
        service_type=common.service_type,
        source=common.source,
        destination=common.destination,
        esm_class=put.esm_class,
        validity=common.validity,
        registered_delivery=common.registered_delivery,
        data_coding=common.data_coding,
        short_message=put.header + octets,
        tlvs=common.tlvs + put.tlvs,
    )


def screen(
    text: str, to: Address, service: Address, tlvs: Tlvs, options: SmppOptions
) -> MessageBody:
    """Return the submission that shows a USSD screen.

    Raises ValueError for a text that no phone would show whole.
    """
    if not fits_ussd(text):
        raise ValueError("a screen longer than a USSD string can be")
    in_ucs2, octets = octets_of(text)
    return MessageBody(
        service_type=options.ussd.service_type,
        source=service,
        destination=to,
        data_coding=options.ussd.ucs2_coding if in_ucs2 else options.ussd.gsm7_coding,
        short_message=octets,
        tlvs=tlvs,
    )


def destination_address(number: str) -> Address:
    """Return the address of a phone. Raises ValueError for anything but E.164."""
    digits = number.removeprefix("+")
    plain = digits.isdecimal() and digits.isascii()
    if not number.startswith("+") or not plain or not 4 <= len(digits) <= 15:
        raise ValueError("not a phone number: + and 4 to 15 digits")
    return Address(_INTERNATIONAL, _ISDN, digits)


def source_address(sender: str, options: SmppOptions) -> Address:
    """Return the address of a sender: a phone number, a short code, a name, or the bind's own.

    Raises ValueError for a name of more than eleven letters.
    """
    if sender.startswith("+"):
        return destination_address(sender)
    if not sender:
        return Address()
    if sender.isdecimal():
        return Address(options.short_code_ton, options.short_code_npi, sender)
    if len(sender) > _LONGEST_NAME:
        raise ValueError(f"a sender's name has at most {_LONGEST_NAME} letters")
    return Address(_ALPHANUMERIC, 0, sender)
