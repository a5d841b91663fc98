"""Text in and out of the octets of a message."""

from __future__ import annotations

import gsmcodecs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.gateways.smpp.alphabet import gsm7_text, octets_of, text_of
from service.text.septets import GSM7, septets


@given(st.text(st.sampled_from(sorted(GSM7))))
def test_septets_read_back(text: str) -> None:
    assert gsm7_text(septets(text)) == text


@given(st.text(st.sampled_from(sorted(GSM7)), max_size=50))
def test_septets_read_as_an_independent_codec_reads_them(text: str) -> None:
    """gsmcodecs 1.0.0, one septet in each octet."""
    codec = gsmcodecs.Codec()
    assert codec.encode(text)[0] == octets_of(text)[1]


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_any_text_comes_back_under_its_coding(text: str) -> None:
    in_ucs2, octets = octets_of(text)
    expected = text.replace("\x1b", "\x1b")
    assert text_of(octets, 8 if in_ucs2 else 0) == expected


@given(st.binary(), st.integers(0, 255))
def test_octets_that_fit_no_coding_lose_nobody_the_message(octets: bytes, coding: int) -> None:
    assert isinstance(text_of(octets, coding), str | None)


@pytest.mark.parametrize("coding", [0, 0x0F, 0x10, 0xF0, 0xF1])
def test_codings_of_the_7_bit_alphabet(coding: int) -> None:
    assert text_of(b"\x00 1\x1b\x65", coding) == "@ 1€"


@pytest.mark.parametrize("coding", [8, 0x48, 0x18])
def test_codings_of_ucs2(coding: int) -> None:
    """0x48: TS 123 038 V9.1.1, clause 5, as USSD has it."""
    assert text_of("पानी".encode("utf-16-be"), coding) == "पानी"


@pytest.mark.parametrize("coding", [2, 4, 0xF4, 0xF5])
def test_octets_that_are_no_text(coding: int) -> None:
    assert text_of(b"\x01\x02", coding) is None


def test_the_default_alphabet_is_the_operator_s_to_tell() -> None:
    assert text_of(b"a_b@", 0) == "a§b¡"
    assert text_of(b"a_b@", 0, "latin1") == "a_b@"
    assert text_of(b"caf\xe9", 3) == "café"


def test_an_extension_nobody_knows_reads_as_its_basic_letter() -> None:
    """TS 123 038 V9.1.1, 6.2.1.1."""
    assert gsm7_text(b"\x1b\x41\x1b\x1b\x1b") == "A "


def test_an_octet_above_the_alphabet_reads_as_latin_1() -> None:
    assert gsm7_text(b"caf\xe9") == "café"
