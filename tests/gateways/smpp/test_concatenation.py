"""The place of a part in a long text, in its header or beside it."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.gateways.smpp.codec import MessageBody
from service.gateways.smpp.codes import Tag
from service.gateways.smpp.concatenation import UDHI, Concatenation, Place, content, marks


def body(place: Place, form: Concatenation, text: bytes) -> MessageBody:
    put = marks(place, form)
    return MessageBody(esm_class=put.esm_class, short_message=put.header + text, tlvs=put.tlvs)


@given(
    st.integers(0, 255),
    st.integers(2, 255),
    st.data(),
    st.binary(max_size=140),
    st.sampled_from(["udh", "sar"]),
)
def test_marks_read_back(
    reference: int, total: int, data: Any, text: bytes, form: Concatenation
) -> None:
    place = Place(reference, total, data.draw(st.integers(1, total)))
    assert content(body(place, form, text)) == (place, text)


def test_a_header_has_room_for_eight_bits_and_a_tag_for_sixteen() -> None:
    """ETSI TS 123 040 V8.4.0, 9.2.3.24.1; SMPP 3.4, 5.3.2.22."""
    place = Place(0x1267, 2, 1)
    assert content(body(place, "udh", b"a"))[0] == (0x67, 2, 1)
    assert content(body(place, "sar", b"a"))[0] == place


def test_never_both_ways_at_once() -> None:
    """SMPP 3.4, 5.2.12."""
    assert marks(Place(1, 2, 1), "udh").tlvs == ()
    assert marks(Place(1, 2, 1), "sar")[:2] == (0, b"")


def test_a_header_of_sixteen_bits_is_read() -> None:
    """ETSI TS 123 040 V8.4.0, 9.2.3.24.8."""
    message = MessageBody(esm_class=UDHI, short_message=bytes.fromhex("0608041234030261"))
    assert content(message) == (Place(0x1234, 3, 2), b"a")


def test_other_elements_of_a_header_are_passed_over() -> None:
    message = MessageBody(
        esm_class=UDHI,
        short_message=bytes.fromhex("0a0504158a15b3") + bytes.fromhex("0003070201") + b"a",
    )
    assert message.short_message[0] == 10
    fixed = bytes([11]) + message.short_message[1:]
    assert content(MessageBody(esm_class=UDHI, short_message=fixed)) == (Place(7, 2, 1), b"a")


@pytest.mark.parametrize(
    "octets", ["0500030702", "ff6161", "05000307026161", "0500030702036161", "05000307020061"]
)
def test_a_header_that_contradicts_itself_costs_no_text(octets: str) -> None:
    message = MessageBody(esm_class=UDHI, short_message=bytes.fromhex(octets))
    place, text = content(message)
    assert place is None
    assert text in (bytes.fromhex(octets), b"a", b"aa", bytes.fromhex(octets)[-1:])


def test_a_long_text_may_come_in_a_tag() -> None:
    message = MessageBody(tlvs=((Tag.MESSAGE_PAYLOAD, b"a" * 300),))
    assert content(message) == (None, b"a" * 300)


@given(st.binary(max_size=254), st.integers(0, 255))
def test_garbage_is_never_more_than_text(octets: bytes, esm_class: int) -> None:
    _, text = content(MessageBody(esm_class=esm_class, short_message=octets))
    assert octets.endswith(text)
