"""The 7-bit table and its packing, held to octets that independent libraries gave."""

import codecs

import gsmcodecs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.text.measure import split
from service.text.septets import GSM7, SEPTETS, pack, pack_ussd, septets


def test_table_is_the_one_of_the_standard(vectors):
    """TS 123 038 V9.1.1, 6.2.1 and 6.2.1.1: 127 basic characters and 10 extensions."""
    assert {character: list(codes) for character, codes in SEPTETS.items()} == vectors["gsm7_table"]


def test_table_agrees_with_an_independent_codec():
    codec = gsmcodecs.Codec()
    for code in range(0x11000):
        character = chr(code)
        try:
            expected = codec.encode(character)[0]
        except UnicodeEncodeError:
            expected = None
        assert (septets(character) if character in GSM7 else None) == expected


def test_messages_pack_to_the_octets_of_other_libraries(vectors):
    packed = [row for row in vectors["sms"] if "packed_hex" in row]
    assert len(packed) > 20
    for row in packed:
        assert pack(septets(row["text"])).hex() == row["packed_hex"], row["id"]
        assert len(pack(septets(row["text"]))) == row["octets_packed"], row["id"]


def test_parts_pack_behind_their_header(vectors):
    """The concatenation header and one fill bit bring the text to a septet boundary."""
    for row in vectors["sms_udh_packed"]:
        header = bytes.fromhex(row["udh_hex"])
        octets = header + pack(septets(row["part_text"]), row["fill_bits"])
        assert octets.hex() == row["tp_ud_hex"], row["id"]
        assert len(octets) == row["tp_ud_octets"] <= 140
        # The header's 48 bits and the fill bit are seven septets.
        assert len(septets(row["part_text"])) + 7 == row["tp_udl_septets"], row["id"]


def test_parts_under_a_header_are_those_of_the_splitter(vectors):
    texts = {row["id"]: row["text"] for row in vectors["sms"]}
    for row in vectors["sms_udh_packed"]:
        name, _, place = row["id"].partition("#")
        assert split(texts[name])[int(place[0]) - 1] == row["part_text"], row["id"]


def test_ussd_strings_pack_with_the_return_that_fills_seven_bits(vectors):
    """TS 123 038 V9.1.1, 6.1.2.3.1."""
    packed = [row for row in vectors["ussd"] if "packed_hex" in row]
    assert len(packed) >= 7
    for row in packed:
        assert pack_ussd(row["text"]).hex() == row["packed_hex"], row["id"]
        assert len(pack_ussd(row["text"])) == row["octets"], row["id"]


@pytest.mark.parametrize("text", ["\x1b", "a`b", "10\u00a0L", "अ"])
def test_characters_outside_the_table_are_refused_by_name(text):
    with pytest.raises(ValueError, match="not in the 7-bit alphabet"):
        septets(text)


@given(st.text(st.sampled_from(sorted(GSM7))))
def test_septets_are_those_of_an_independent_codec(text):
    assert septets(text) == gsmcodecs.Codec().encode(text)[0]


@given(st.binary(max_size=200).map(lambda raw: bytes(octet & 0x7F for octet in raw)))
def test_packing_keeps_every_septet(codes):
    bits = int.from_bytes(pack(codes), "little")
    assert bytes(bits >> 7 * place & 0x7F for place in range(len(codes))) == codes


def test_the_independent_codec_is_the_one_meant():
    assert codecs.lookup("gsm23.038").name.startswith("gsm23.038")
