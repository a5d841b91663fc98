"""The gateway against smpp34 1.5.0 on loopback: a second program, of other hands."""

from __future__ import annotations

import time
from typing import Any

import pytest
import smpp34

from service.gateways.smpp import (
    Accepted,
    Outgoing,
    Refused,
    Throttled,
    Uncertain,
    UssdOut,
    reference_of,
)

pytestmark = pytest.mark.usefixtures("no_numbers_in_logs")


def outgoing(kit: Any, id_: str = "m-1", text: str = "Flush", **more: Any) -> Outgoing:
    return Outgoing(id_, kit.PHONE, text, **more)


def tags(event: Any) -> dict[int, bytes]:
    return {tlv.tag: tlv.value for tlv in event.tlvs}


def test_binds_and_takes_its_leave(rust: Any, bound: Any) -> None:
    gateway, _ = bound(rust.port)
    assert rust.sessions.get(timeout=5).system_id == "litreline"
    gateway.stop()
    assert isinstance(rust.ends.get(timeout=5), smpp34.Unbound)


def test_texts_arrive_octet_by_octet(rust: Any, bound: Any, kit: Any) -> None:
    gateway, _ = bound(rust.port)
    result = gateway.send(outgoing(kit, text="Price 5€ {a} @ home"), 5.0)
    assert result == Accepted(("r-1",))
    assert gateway.send(outgoing(kit, "m-2", "पानी"), 5.0) == Accepted(("r-2",))
    first, second = rust.submitted
    assert first.short_message == b"Price 5\x1b\x65 \x1b\x28a\x1b\x29 \x00 home"
    assert (first.data_coding, second.data_coding) == (0, 8)
    assert second.short_message == "पानी".encode("utf-16-be")
    assert first.destination_addr == kit.PHONE.removeprefix("+")
    assert first.registered_delivery == 1
    assert tags(first) == {
        smpp34.TLV_USER_MESSAGE_REFERENCE: reference_of("m-1").to_bytes(2, "big")
    }


@pytest.mark.parametrize("form", ["udh", "sar"])
def test_long_texts_arrive_in_parts(rust: Any, bound: Any, kit: Any, form: str) -> None:
    gateway, _ = bound(rust.port, concatenation=form)
    text = "a" * 152 + "€" + "a" * 152
    assert gateway.send(outgoing(kit, text=text), 5.0) == Accepted(("r-1", "r-2", "r-3"))
    header = 6 if form == "udh" else 0
    lengths = [len(event.short_message) - header for event in rust.submitted]
    assert lengths == [152, 153, 1], "the escape pair is not cut"
    for number, event in enumerate(rust.submitted, start=1):
        if form == "udh":
            assert event.esm_class == 0x40
            assert event.short_message[:3] == b"\x05\x00\x03"
            assert event.short_message[4:6] == bytes([3, number])
        else:
            assert tags(event)[smpp34.TLV_SAR_TOTAL_SEGMENTS] == b"\x03"
            assert tags(event)[smpp34.TLV_SAR_SEGMENT_SEQNUM] == bytes([number])


def test_refusals_and_throttling(rust: Any, bound: Any, kit: Any) -> None:
    gateway, _ = bound(rust.port)
    statuses = {1: smpp34.ESME_RINVDSTADR, 2: smpp34.ESME_RMSGQFUL}
    rust.judge = lambda _, number: statuses.get(number, 0)
    assert gateway.send(outgoing(kit), 5.0) == Refused("permanent", 0x0B, "ESME_RINVDSTADR")
    throttled = gateway.send(outgoing(kit), 5.0)
    assert isinstance(throttled, Throttled)
    began = time.monotonic()
    assert isinstance(gateway.send(outgoing(kit), 5.0), Accepted)
    assert time.monotonic() - began > throttled.retry_after - 0.1


def test_a_receipt_of_tags_alone(rust: Any, bound: Any, peers: Any) -> None:
    _, told = bound(rust.port)
    session = rust.sessions.get(timeout=5)
    status = rust.deliver(
        session,
        esm_class=4,
        tlvs=[
            smpp34.Tlv(smpp34.TLV_RECEIPTED_MESSAGE_ID, b"r-1\0"),
            smpp34.Tlv(smpp34.TLV_MESSAGE_STATE, b"\x05"),
            smpp34.Tlv(0x1403, b"something of its own"),
        ],
    )
    assert status == 0
    [receipt] = told.receipts
    assert (receipt.message_id, receipt.state) == ("r-1", "undeliverable")


def test_texts_come_in_and_come_again_when_they_could_not_be_kept(rust: Any, bound: Any) -> None:
    _, told = bound(rust.port)
    session = rust.sessions.get(timeout=5)
    told.failures = [OSError("disk full")]
    assert rust.deliver(session, short_message=b"STOP") == 0x64
    assert rust.deliver(session, short_message=b"STOP") == 0
    assert [sms.text for sms in told.texts] == ["STOP"]


def test_types_of_number_that_nobody_defined_are_borne(rust: Any, bound: Any) -> None:
    _, told = bound(rust.port)
    session = rust.sessions.get(timeout=5)
    odd = {"source_addr_ton": 250, "source_addr_npi": 251, "short_message": b"hello"}
    assert rust.deliver(session, **odd) == 0
    assert told.texts[0].text == "hello"


def test_ussd_both_ways(rust: Any, bound: Any, peers: Any) -> None:
    _, told = bound(rust.port)
    session = rust.sessions.get(timeout=5)
    screens = iter([UssdOut("1 Plan", more=True), UssdOut("पानी", more=False)])
    told.screen = lambda _: next(screens)

    def say(text: bytes, op: int, info: bytes) -> int:
        marks = [
            smpp34.Tlv(smpp34.TLV_USSD_SERVICE_OP, bytes([op])),
            smpp34.Tlv(smpp34.TLV_ITS_SESSION_INFO, info),
        ]
        return int(
            rust.deliver(
                session, service_type="USSD", data_coding=15, short_message=text, tlvs=marks
            )
        )

    # Session 200 and high sequences: octets from 0x80 on.
    assert say(b"*123#", 1, b"\xc8\xf8") == 0
    peers.until(lambda: len(rust.submitted) == 1)
    assert say(b"1", 18, b"\xc8\xfa") == 0
    peers.until(lambda: len(rust.submitted) == 2)
    asked, final = rust.submitted
    assert tags(asked) == {
        smpp34.TLV_USSD_SERVICE_OP: b"\x02",
        smpp34.TLV_ITS_SESSION_INFO: b"\xc8\xfa",
    }
    assert tags(final) == {
        smpp34.TLV_USSD_SERVICE_OP: b"\x11",
        smpp34.TLV_ITS_SESSION_INFO: b"\xc8\xfd",
    }
    assert (asked.data_coding, final.data_coding) == (0x0F, 0x48)
    assert [step.text for step in told.steps] == ["", "1"]


def test_a_window_full_of_texts(rust: Any, bound: Any, kit: Any) -> None:
    gateway, _ = bound(rust.port)
    futures = [gateway.submit(outgoing(kit, f"m-{n}", f"text {n}"), 20.0) for n in range(400)]
    results = [one.result(20) for one in futures]
    assert len({one.message_ids for one in results if isinstance(one, Accepted)}) == 400
    assert len({event.short_message for event in rust.submitted}) == 400


def test_the_end_of_the_centre_in_the_middle(rust: Any, bound: Any, kit: Any, peers: Any) -> None:
    gateway, _ = bound(rust.port)
    rust.judge = lambda event, number: time.sleep(0.02) or 0
    futures = [gateway.submit(outgoing(kit, f"m-{n}"), 0.5) for n in range(20)]
    peers.until(lambda: len(rust.submitted) > 3)
    rust.stop()
    results = [one.result(20) for one in futures]
    unknown = sum(isinstance(one, Uncertain) for one in results)
    assert 0 < sum(isinstance(one, Accepted) for one in results) < 20
    assert unknown <= 10
