"""Receipts, by tags and by text."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.gateways.smpp.codec import MessageBody, Tlvs, decode
from service.gateways.smpp.codes import Tag
from service.gateways.smpp.ports import Receipt
from service.gateways.smpp.receipts import is_receipt, read_receipt, read_receipt_text

NOW = datetime(2026, 11, 25, 9, 5, tzinfo=UTC)
DONE = datetime(2026, 11, 25, 9, 1, tzinfo=UTC)
TEXT = "id:42 sub:001 dlvrd:000 submit date:2611250900 done date:2611250901 stat:UNDELIV err:001"


def receipt(text: str = "", tlvs: Tlvs = (), **more: Any) -> Receipt | None:
    message = MessageBody(esm_class=4, short_message=text.encode("latin-1"), tlvs=tlvs, **more)
    assert is_receipt(message)
    return read_receipt(message, UTC, NOW)


def test_every_text_in_the_vectors(vectors: dict[str, Any]) -> None:
    assert len(vectors["receipt_text"]) == 8
    for vector in vectors["receipt_text"]:
        found, expected = read_receipt_text(vector["text"], UTC), vector["expect"]
        if expected is None:
            assert found is None, vector["id"]
            continue
        assert found is not None, vector["id"]
        for field in ("id", "stat", "err"):
            assert getattr(found, field) == expected.get(field, getattr(found, field))
        for field in ("submit", "done"):
            if field in expected:
                at = getattr(found, field).replace(tzinfo=None)
                assert at == datetime.fromisoformat(expected[field]), vector["id"]


def test_the_receipt_of_the_vectors(vectors: dict[str, Any]) -> None:
    octets = next(v["hex"] for v in vectors["pdu"] if v["id"] == "deliver-receipt")
    message = decode(bytes.fromhex(octets)).body
    assert isinstance(message, MessageBody)
    assert read_receipt(message, UTC, NOW) == Receipt(
        "1000000001", "delivered", DONE, 4711, "000", quoted="Flush the lines toda"
    )


def test_tags_are_believed_before_the_text() -> None:
    tlvs = ((Tag.RECEIPTED_MESSAGE_ID, b"2A\0"), (Tag.MESSAGE_STATE, b"\x02"))
    found = receipt(TEXT, tlvs)
    assert found == Receipt("2A", "delivered", DONE, None, "001")


def test_the_text_stands_in_where_tags_are_missing() -> None:
    assert receipt(TEXT) == Receipt("42", "undeliverable", DONE, None, "001")
    assert receipt(TEXT, ((Tag.MESSAGE_STATE, b"\x08"),)) == Receipt(
        "42", "rejected", DONE, None, "001"
    )


def test_a_text_in_a_payload_or_in_ucs2_is_read_too() -> None:
    assert receipt(tlvs=((Tag.MESSAGE_PAYLOAD, TEXT.encode("ascii")),)) == receipt(TEXT)
    message = MessageBody(esm_class=4, data_coding=8, short_message=TEXT.encode("utf-16-be"))
    assert read_receipt(message, UTC, NOW) == receipt(TEXT)


def test_our_own_words_behind_the_fields_are_not_fields() -> None:
    found = receipt("id:42 stat:DELIVRD text:err:999 done date:2611250901")
    words = "err:999 done date:2611250901"
    assert found == Receipt("42", "delivered", NOW, None, "", quoted=words)


def test_an_id_is_text_whatever_it_looks_like() -> None:
    """Neither leading zeros nor letters are lost, and 0x2A is not 42."""
    for id_ in ("0042", "2A", "2a", "a_b-c", "0x2A"):
        found = receipt(TEXT.replace("id:42", f"id:{id_}"))
        assert found is not None
        assert found.message_id == id_


def test_a_clock_of_the_centre_in_another_zone() -> None:
    zone = timezone(timedelta(hours=3))
    message = MessageBody(esm_class=4, short_message=TEXT.encode("ascii"))
    found = read_receipt(message, zone, NOW)
    assert found is not None
    assert found.at == datetime(2026, 11, 25, 9, 1, tzinfo=zone)


def test_a_reference_alone_is_enough_and_nothing_at_all_is_not() -> None:
    tlvs = ((Tag.USER_MESSAGE_REFERENCE, b"\x12\x67"), (Tag.MESSAGE_STATE, b"\x02"))
    assert receipt("", tlvs) == Receipt("", "delivered", NOW, 4711)
    assert receipt("thank you") is None


def test_an_outcome_nobody_knows_is_unknown() -> None:
    found = receipt(TEXT.replace("UNDELIV", "BUFFRED"))
    assert found is not None
    assert found.state == "unknown"


@pytest.mark.parametrize(
    ("esm_class", "tlvs", "expected"),
    [
        (0x04, (), True),
        (0x20, (), True),
        (0x44, (), True),
        (0x00, (), False),
        (0x08, (), False),
        (0x40, (), False),
        (0x00, ((Tag.RECEIPTED_MESSAGE_ID, b"1\0"), (Tag.MESSAGE_STATE, b"\x02")), True),
        (0x00, ((Tag.RECEIPTED_MESSAGE_ID, b"1\0"),), False),
    ],
)
def test_which_deliveries_are_receipts(esm_class: int, tlvs: Tlvs, expected: bool) -> None:
    """SMPP 3.4, 5.2.12: bits 5 to 2."""
    assert is_receipt(MessageBody(esm_class=esm_class, tlvs=tlvs)) is expected


def test_a_farmer_who_writes_like_a_receipt_is_a_farmer(vectors: dict[str, Any]) -> None:
    trap = next(v for v in vectors["receipt_text"] if v["id"] == "not-a-receipt-text")
    message = MessageBody(esm_class=trap["esm_class"], short_message=trap["text"].encode("ascii"))
    assert not is_receipt(message)


@given(
    st.binary(max_size=254),
    st.integers(0, 255),
    st.lists(st.tuples(st.sampled_from([0x1E, 0x204, 0x427]), st.binary(max_size=9)), max_size=3),
)
def test_garbage_in_a_receipt_is_borne(
    octets: bytes, coding: int, tlvs: list[tuple[int, bytes]]
) -> None:
    message = MessageBody(esm_class=4, data_coding=coding, short_message=octets, tlvs=tuple(tlvs))
    assert isinstance(read_receipt(message, UTC, NOW), Receipt | None)
