"""Counting and cutting, held to texts on which seven libraries agree."""

from itertools import pairwise

import gsmcodecs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.text.measure import (
    USSD_OCTETS,
    encoding_and_units,
    fits_ussd,
    measure,
    split,
    ussd_limit,
)
from service.text.septets import GSM7

ANY_TEXT = st.text(st.one_of(st.sampled_from(sorted(GSM7)), st.characters()), max_size=700)
LONG_TEXT = st.builds(
    lambda head, body, times: head + body * times,
    st.text(st.sampled_from("a€[अ💧"), max_size=160),
    st.text(st.sampled_from("a€[अ💧"), min_size=1, max_size=5),
    st.integers(0, 300),
)


def test_every_vector_has_its_alphabet_units_and_parts(vectors):
    assert len(vectors["sms"]) == 76
    for row in vectors["sms"]:
        units = row["septets"] if row["encoding"] == "gsm7" else row["utf16_units"]
        assert measure(row["text"]) == (row["encoding"], units, row["segments"]), row["id"]


def test_every_vector_is_cut_where_other_libraries_cut_it(vectors):
    for row in vectors["sms"]:
        parts = split(row["text"])
        assert list(parts) == row.get("parts", [row["text"]]), row["id"]
        sizes = row.get("part_septets") or row["part_units"]
        assert [units_of_part(row["text"], part) for part in parts] == sizes, row["id"]


def units_of_part(text, part):
    """Units of a part in the alphabet of the whole text: one letter decides for all parts."""
    if measure(text).encoding == "ucs2":
        return len(part.encode("utf-16-be", "surrogatepass")) // 2
    return len(gsmcodecs.Codec().encode(part)[0])


def test_sixteen_bit_references_leave_less_room(vectors):
    """TS 123 040 V8.4.0, 9.2.3.24.8: a header of seven octets."""
    texts = {row["id"]: row["text"] for row in vectors["sms"]}
    for row in vectors["sms_concat16"]:
        text = texts[row["id"]]
        parts = split(text, reference_bits=16)
        assert [units_of_part(text, part) for part in parts] == row["part_units"], row["id"]


def test_the_published_limits(vectors):
    limits = vectors["limits"]
    assert [measure("a" * limits["gsm7_single"] + tail).parts for tail in ("", "a")] == [1, 2]
    assert [measure("अ" * limits["ucs2_single"] + tail).parts for tail in ("", "a")] == [1, 2]
    assert ussd_limit("gsm7") == limits["ussd_septets"]
    assert ussd_limit("ucs2") == limits["ussd_utf16_units"]


def test_ussd_vectors_fit_or_not(vectors):
    for row in vectors["ussd"]:
        assert fits_ussd(row["text"]) == row["fits"], row["id"]


@pytest.mark.parametrize(
    ("position", "septets", "units"),
    [
        ("first-request", 152, 66),
        ("first-question", 176, 77),
        ("network-first", 164, 72),
        ("other", 182, 80),
    ],
)
def test_ussd_limits_by_position(position, septets, units):
    """WAP-204 (30 July 2001), 6.8 table 2: 133, 154, 144 and 160 octets."""
    assert ussd_limit("gsm7", position) == septets
    assert ussd_limit("ucs2", position) == units
    assert fits_ussd("a" * septets, position)
    assert not fits_ussd("अ" * (units + 1), position)


def test_a_page_of_160_or_70_fits_all_positions_but_the_dialled_string():
    for position in set(USSD_OCTETS) - {"first-request"}:
        assert ussd_limit("gsm7", position) >= 160
        assert ussd_limit("ucs2", position) >= 70


def test_escape_is_never_counted_as_a_letter_of_the_alphabet():
    assert measure("a\x1bb").encoding == "ucs2"


def test_more_than_255_parts_are_refused():
    with pytest.raises(ValueError, match="at most 255"):
        split("a" * (255 * 153 + 1))
    assert len(split("a" * (255 * 153))) == 255


@given(ANY_TEXT)
def test_units_are_those_of_an_independent_codec(text):
    try:
        expected = ("gsm7", len(gsmcodecs.Codec().encode(text)[0]))
    except UnicodeEncodeError:
        expected = ("ucs2", len(text.encode("utf-16-be", "surrogatepass")) // 2)
    assert encoding_and_units(text) == expected


@given(st.one_of(ANY_TEXT, LONG_TEXT))
def test_parts_lose_nothing_and_stay_within_their_limit(text):
    encoding, _, count = measure(text)
    parts = split(text)
    assert "".join(parts) == text
    assert len(parts) == count
    if count > 1:
        limit = 153 if encoding == "gsm7" else 67
        assert all(0 < units_of_part(text, part) <= limit for part in parts)
        # Greedy: each part but the last had no room for the next character.
        for part, after in pairwise(parts):
            assert units_of_part(text, part + after[0]) > limit
