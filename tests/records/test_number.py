"""Phone numbers as people and gateways write them.

The rows come from `messaging_i18n.json`, made with phonenumbers 9.0.43. Ours differs in one: a
leading 00 is read as + where the country itself dials something else for abroad.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.records import NumberRefused, masked, number_hash, read_number

ROWS: list[dict[str, Any]] = json.loads(
    (Path(__file__).parents[1] / "data" / "messaging_i18n.json").read_text("utf-8")
)["phones"]
ZEROS = "00254712345678"


@pytest.mark.parametrize("row", [row for row in ROWS if row.get("possible")])
def test_a_number_is_read_to_e164(row: dict[str, Any]) -> None:
    assert read_number(row["input"], row["region"] or "") == row["e164"]


@pytest.mark.parametrize(
    "row", [row for row in ROWS if not row.get("possible") and row["input"] != ZEROS]
)
def test_what_is_no_number_is_refused_without_repeating_it(row: dict[str, Any]) -> None:
    with pytest.raises(NumberRefused) as caught:
        read_number(row["input"], row["region"] or "")
    assert row["input"] == "" or row["input"] not in str(caught.value)


@pytest.mark.parametrize("region", ["KE", "FR", ""])
def test_a_leading_00_is_read_as_plus(region: str) -> None:
    assert read_number(ZEROS, region) == "+254712345678"


def test_a_local_form_needs_its_country() -> None:
    assert read_number("0712 345 678", "KE") == "+254712345678"
    with pytest.raises(NumberRefused):
        read_number("0712 345 678")


def test_a_number_read_again_is_the_same() -> None:
    for row in ROWS:
        if row.get("possible"):
            assert read_number(row["e164"], "IN") == row["e164"]


@given(st.text(max_size=60))
def test_no_text_breaks_the_reader(text: str) -> None:
    try:
        number = read_number(text, "KE")
    except NumberRefused:
        return
    assert number.startswith("+")
    assert number[1:].isascii()
    assert number[1:].isdecimal()


def test_a_masked_number_shows_country_first_digit_and_last_three() -> None:
    assert masked("+254712345678") == "+254 7** *** 678"
    assert masked("+10005550100") == "+1 0** *** 100"
    assert masked("handset:0f3a") == "handset:***"
    assert masked("0712") == "***"


def test_the_hash_of_a_number_needs_its_key() -> None:
    first = number_hash("+254712345678", "key")
    assert first == number_hash("+254712345678", "key")
    assert first != number_hash("+254712345678", "another")
    assert first != number_hash("+254712345679", "key")
    assert len(first) == 12
