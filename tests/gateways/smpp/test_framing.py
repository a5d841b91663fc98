"""PDUs out of a stream that is cut anywhere."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.gateways.smpp.framing import MOST_OCTETS, Framer, OutOfStep


def pdu(size: int, letter: int = 0) -> bytes:
    return (16 + size).to_bytes(4, "big") + bytes([letter]) * (12 + size)


@given(
    st.lists(st.tuples(st.integers(0, 60), st.integers(0, 255)), max_size=8),
    st.lists(st.integers(1, 40), min_size=1),
)
def test_any_cut_gives_the_same_pdus(sizes: list[tuple[int, int]], cuts: list[int]) -> None:
    sent = [pdu(size, letter) for size, letter in sizes]
    stream, framer, found, place = b"".join(sent), Framer(), [], 0
    while place < len(stream):
        step = cuts[len(found) % len(cuts)]
        found += framer.feed(stream[place : place + step])
        place += step
    assert found == sent


def test_one_octet_at_a_time() -> None:
    framer, found = Framer(), []
    for octet in pdu(3) + pdu(0):
        found += framer.feed(bytes([octet]))
    assert found == [pdu(3), pdu(0)]


@pytest.mark.parametrize("length", [0, 1, 15, MOST_OCTETS + 1, 0xFFFFFFFF])
def test_a_length_that_no_pdu_has_ends_the_stream(length: int) -> None:
    with pytest.raises(OutOfStep, match=f"command_length {length} "):
        list(Framer().feed(length.to_bytes(4, "big")))


def test_whole_pdus_ahead_of_a_bad_length_are_still_given() -> None:
    found = Framer().feed(pdu(2) + bytes(4))
    assert next(found) == pdu(2)
    with pytest.raises(OutOfStep):
        next(found)


def test_the_longest_pdu_passes() -> None:
    longest = pdu(MOST_OCTETS - 16)
    assert list(Framer().feed(longest)) == [longest]


@given(st.binary(max_size=200))
def test_garbage_gives_pdus_or_out_of_step(octets: bytes) -> None:
    with contextlib.suppress(OutOfStep):
        for whole in Framer().feed(octets):
            assert len(whole) == int.from_bytes(whole[:4], "big")
