"""Which message a receipt means that names none we know."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import pytest

from service.gateways.smpp import Receipt, meant, reference_of

NOW = datetime(2026, 7, 1, 9, 30, tzinfo=UTC)
WORDS = "Open the valve for 20 minutes today"


@dataclass(frozen=True)
class One:
    id: str
    text: str = WORDS
    state: str = "uncertain"


def receipt(reference: int | None = None, quoted: str = "") -> Receipt:
    return Receipt("c-1", "delivered", NOW, user_reference=reference, quoted=quoted)


def test_our_reference_tells_which_one() -> None:
    awaited = (One("m1"), One("m2", state="accepted"))
    assert meant(receipt(reference_of("m2")), awaited) == "m2"
    assert meant(receipt(reference_of("m9"), "Open the valve for 2"), awaited) is None
    twins = (One("m1"), One("m1"))
    assert meant(receipt(reference_of("m1")), twins) is None


@pytest.mark.parametrize(
    ("quoted", "found"),
    [
        ("Open the valve for 2", "m1"),
        ("Open?the valve for 2", "m1"),
        (" Open the valve for 20 minutes today\n", "m1"),
        ("Open the valve at 7", None),
        ("Open", None),
        ("", None),
    ],
)
def test_else_the_first_words_do(quoted: str, found: str | None) -> None:
    awaited = (One("m1"), One("m2", "Flush the lines this week"))
    assert meant(receipt(quoted=quoted), awaited) == found


def test_a_part_of_a_long_text_quotes_its_own_words() -> None:
    long = One("m1", "a" * 153 + "Then close the second block.")
    assert meant(receipt(quoted="Then close the seco"), (long,)) == "m1"


@pytest.mark.parametrize("other", [One("m2"), One("m2", state="accepted")])
def test_the_same_words_twice_tell_nothing(other: One) -> None:
    assert meant(receipt(quoted=WORDS[:20]), (One("m1"), other)) is None


def test_words_settle_a_doubt_only() -> None:
    assert meant(receipt(quoted=WORDS[:20]), (One("m1", state="accepted"),)) is None
    assert meant(receipt(quoted=WORDS[:20]), ()) is None
