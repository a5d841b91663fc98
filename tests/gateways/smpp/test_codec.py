"""PDUs to octets and back, held to vectors that three other programs agreed on."""

from __future__ import annotations

from typing import Any

import pytest
import smpp34
from hypothesis import given
from hypothesis import strategies as st

from service.gateways.smpp.alphabet import text_of
from service.gateways.smpp.codec import (
    Address,
    BindBody,
    Body,
    CodecError,
    IdBody,
    MessageBody,
    NoBody,
    Pdu,
    RawBody,
    decode,
    encode,
)
from service.gateways.smpp.codes import ACTIONS, Command, Status, Tag, action_of, status_name
from service.gateways.smpp.concatenation import content
from service.gateways.smpp.receipts import STATES, STATS


def decoded(vector: dict[str, Any]) -> Pdu:
    return decode(bytes.fromhex(vector["hex"]))


def message(vector: dict[str, Any]) -> MessageBody:
    body = decoded(vector).body
    assert isinstance(body, MessageBody)
    return body


def test_status_codes_tags_and_actions_are_those_of_the_standard(vectors: dict[str, Any]) -> None:
    """SMPP v3.4 Issue 1.2, 5.1.3 and 5.3.2, and v5.0, 4.7.6; the actions are our judgement."""
    expected = vectors["command_status_v34"] | vectors["command_status_added_v50"]
    assert {status.name: status.value for status in Status} == expected
    assert {tag.name.lower(): tag.value for tag in Tag} == vectors["tlv"]
    assert {action: [s.name for s in codes] for action, codes in ACTIONS.items()} == vectors[
        "action"
    ]


def test_states_are_those_of_the_standard(vectors: dict[str, Any]) -> None:
    """SMPP v3.4, 5.2.28 and Appendix B: a state by number and by its seven letters."""
    assert {str(n): state.upper() for n, state in STATES.items()} == vectors["message_state"]
    for stat, number in vectors["receipt_stat"].items():
        assert STATS[stat] == STATES[number]


def test_a_status_of_the_centre_s_own_is_told_by_number_and_may_pass() -> None:
    assert status_name(0x4AB) == "0x4AB"
    assert action_of(0x4AB) == "retry_few_then_fail"


def test_every_vector_keeps_its_octets(vectors: dict[str, Any]) -> None:
    assert len(vectors["pdu"]) == 14
    for vector in vectors["pdu"]:
        assert encode(decoded(vector)).hex() == vector["hex"], vector["id"]


def test_every_vector_means_what_three_programs_read_in_it(vectors: dict[str, Any]) -> None:
    for vector in vectors["pdu"]:
        meaning, body = vector["meaning"], message(vector)
        commands = {"submit_sm": Command.SUBMIT_SM, "deliver_sm": Command.DELIVER_SM}
        assert decoded(vector).command == commands[meaning["command"]], vector["id"]
        for field in ("esm_class", "data_coding", "registered_delivery", "service_type"):
            assert getattr(body, field) == meaning.get(field, getattr(body, field)), vector["id"]
        for tag in ("user_message_reference", "ussd_service_op", "message_state"):
            if tag in meaning:
                assert body.number(Tag[tag.upper()]) == meaning[tag], vector["id"]


def test_every_text_in_the_vectors_is_read(vectors: dict[str, Any]) -> None:
    seen = 0
    for vector in vectors["pdu"]:
        place, octets = content(message(vector))
        meaning = vector["meaning"]
        if "text" in meaning:
            assert text_of(octets, message(vector).data_coding) == meaning["text"], vector["id"]
            seen += 1
        if told := meaning.get("udh") or meaning.get("sar"):
            assert place == (told["ref"], told["total"], told["seq"]), vector["id"]
        if "message_payload_octets" in meaning:
            assert len(octets) == meaning["message_payload_octets"]
    assert seen == 12


addresses = st.builds(
    Address,
    st.integers(0, 255),
    st.integers(0, 255),
    st.text(st.characters(min_codepoint=1, max_codepoint=255), max_size=20),
)


def strings(most: int) -> st.SearchStrategy[str]:
    return st.text(st.characters(min_codepoint=1, max_codepoint=255), max_size=most)


octet = st.integers(0, 255)
tlvs = st.lists(st.tuples(st.integers(0, 0xFFFF), st.binary(max_size=300)), max_size=4).map(tuple)
messages = st.builds(
    MessageBody,
    service_type=strings(5),
    source=addresses,
    destination=addresses,
    esm_class=octet,
    protocol_id=octet,
    priority=octet,
    schedule=strings(16),
    validity=strings(16),
    registered_delivery=octet,
    replace_if_present=octet,
    data_coding=octet,
    default_message=octet,
    short_message=st.binary(max_size=254),
    tlvs=tlvs,
)
binds = st.builds(BindBody, strings(15), strings(8), strings(12), octet, addresses)
answers = st.builds(IdBody, strings(64), tlvs)
pdus = st.one_of(
    st.tuples(st.sampled_from([0x04, 0x05]), messages),
    st.tuples(st.sampled_from([0x01, 0x02, 0x09]), binds),
    st.tuples(st.sampled_from([0x80000001, 0x80000004, 0x80000005, 0x80000009]), answers),
    st.tuples(st.sampled_from([0x06, 0x15, 0x80000000, 0x80000015]), st.just(NoBody())),
    st.tuples(st.sampled_from([0x03, 0x102, 0x103, 0x7777]), st.builds(RawBody, st.binary())),
)


@given(pdus, octet, st.integers(0, 0xFFFFFFFF))
def test_what_is_written_reads_the_same(given: tuple[int, Body], code: int, sequence: int) -> None:
    command, body = given
    pdu = Pdu(command, sequence, code, body)
    assert decode(encode(pdu)) == pdu


@given(messages, st.integers(1, 0x7FFFFFFF))
def test_an_independent_codec_reads_what_we_write(body: MessageBody, sequence: int) -> None:
    """smpp34 1.5.0, whose strings are UTF-8, so only ASCII is compared here."""
    if not all(text.isascii() for text in _texts(body)):
        return
    theirs = smpp34.decode(encode(Pdu(Command.SUBMIT_SM, sequence, body=body)))
    assert isinstance(theirs, smpp34.SubmitSm)
    assert theirs.sequence_number == sequence
    assert theirs.source_addr == body.source.number
    assert theirs.destination_addr == body.destination.number
    assert (theirs.dest_addr_ton, theirs.dest_addr_npi) == (
        body.destination.ton,
        body.destination.npi,
    )
    assert theirs.short_message == body.short_message
    assert theirs.validity_period == body.validity
    assert theirs.data_coding == body.data_coding
    assert tuple((tlv.tag, tlv.value) for tlv in theirs.tlvs) == body.tlvs
    assert theirs.encode() == encode(Pdu(Command.SUBMIT_SM, sequence, body=body))


def _texts(body: MessageBody) -> tuple[str, ...]:
    numbers = (body.source.number, body.destination.number)
    return (*numbers, body.service_type, body.schedule, body.validity)


def read_or_refused(octets: bytes) -> Pdu | CodecError:
    try:
        return decode(octets)
    except CodecError as refusal:
        return refusal


@given(st.binary(max_size=400))
def test_garbage_is_refused_with_a_status_and_nothing_worse(octets: bytes) -> None:
    assert read_or_refused(octets).status < 0x100000000


@given(st.sampled_from([0x01, 0x04, 0x05, 0x80000004, 0x80000009]), st.binary(max_size=300))
def test_garbage_behind_a_sound_header_too(command: int, body: bytes) -> None:
    head = b"".join(n.to_bytes(4, "big") for n in (16 + len(body), command, 0, 7))
    outcome = read_or_refused(head + body)
    assert (outcome.command, outcome.sequence) == (command, 7)
    if command >= 0x80000000:
        assert isinstance(outcome, Pdu), "whatever a response carries, it is a response"
    elif isinstance(outcome, CodecError):
        assert outcome.status in (Status.ESME_RINVCMDLEN, Status.ESME_RINVOPTPARSTREAM)


def test_a_request_cut_short_anywhere_in_its_fields_is_refused(vectors: dict[str, Any]) -> None:
    whole = bytes.fromhex(next(v["hex"] for v in vectors["pdu"] if v["id"] == "deliver-mo"))
    for length in range(16, len(whole)):
        with pytest.raises(CodecError, match="RINVCMDLEN"):
            decode(length.to_bytes(4, "big") + whole[4:length])


def test_an_optional_parameter_longer_than_the_pdu_is_refused() -> None:
    octets = encode(Pdu(Command.DELIVER_SM, 1, body=MessageBody(tlvs=((0x1403, b"abc"),))))
    with pytest.raises(CodecError, match="RINVOPTPARSTREAM"):
        decode((len(octets) - 1).to_bytes(4, "big") + octets[4:-1])


@pytest.mark.parametrize("tail", [b"", b"17", b"17\0", b"17\0\x04", b"17\0\x04\x23\xff\xff"])
def test_a_response_counts_whatever_follows_the_header(tail: bytes) -> None:
    head = (16 + len(tail)).to_bytes(4, "big") + bytes.fromhex("800000040000000000000005")
    body = decode(head + tail).body
    assert isinstance(body, IdBody)
    assert body.id == tail[:2].decode()


@pytest.mark.parametrize(
    "body",
    [
        MessageBody(short_message=bytes(255)),
        MessageBody(destination=Address(1, 1, "1" * 21)),
        MessageBody(validity="0" * 17),
        MessageBody(service_type="a\0b"),
        BindBody("litreline", "ninechars"),
        IdBody("1" * 65),
    ],
)
def test_what_does_not_fit_is_not_cut(body: Body) -> None:
    with pytest.raises(ValueError, match="at most"):
        encode(Pdu(Command.SUBMIT_SM, 1, body=body))


def test_a_pdu_shows_no_number_no_words_and_no_password() -> None:
    body = MessageBody(
        source=Address(1, 1, "10005550101"),
        short_message=b"my tank",
        tlvs=((Tag.MESSAGE_PAYLOAD, b"my tank"),),
    )
    shown = repr(Pdu(Command.SUBMIT_SM, 1, body=body)) + repr(BindBody("litreline", "secret"))
    assert not [word for word in ("10005550101", "my tank", "secret") if word in shown]
