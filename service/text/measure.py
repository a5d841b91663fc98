"""How long a text is on the wire, and where a long one is cut.

A text is sent in the 7-bit alphabet when every character of the whole text is in it, else in
UCS-2, where a character above U+FFFF counts two units. Limits: ETSI TS 123 040 V8.4.0,
9.2.3.24.1 and 9.2.3.24.8 (messages), TS 123 038 V9.1.1, 6.1.2.3.1 and GSM 09.02 (USSD), WAP-204
6.8 table 2 (USSD by position).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal, NamedTuple, TypeAlias

from service.text.septets import EXTENSION, GSM7, ONE_SEPTET, TWO_SEPTETS

Encoding: TypeAlias = Literal["gsm7", "ucs2"]
ReferenceBits: TypeAlias = Literal[8, 16]
UssdPosition: TypeAlias = Literal["first-request", "first-question", "network-first", "other"]

SINGLE: Mapping[Encoding, int] = {"gsm7": 160, "ucs2": 70}
PART: Mapping[tuple[Encoding, ReferenceBits], int] = {
    ("gsm7", 8): 153,
    ("gsm7", 16): 152,
    ("ucs2", 8): 67,
    ("ucs2", 16): 66,
}
MOST_PARTS = 255
USSD_OCTETS: Mapping[UssdPosition, int] = {
    "first-request": 133,
    "first-question": 154,
    "network-first": 144,
    "other": 160,
}


class Measure(NamedTuple):
    """Alphabet, units in it (septets or UTF-16 code units) and parts as a text message."""

    encoding: Encoding
    units: int
    parts: int


def encoding_and_units(text: str) -> tuple[Encoding, int]:
    """Return the alphabet a text needs and its units in it."""
    if ONE_SEPTET.issuperset(text):
        return "gsm7", len(text)
    if GSM7.issuperset(text):
        return "gsm7", len(text) + sum(map(text.count, EXTENSION))
    return "ucs2", len(text.encode("utf-16-be", "surrogatepass")) // 2


def measure(text: str) -> Measure:
    """Return alphabet, units and parts; an empty text counts as one empty message."""
    encoding, units = encoding_and_units(text)
    if units <= SINGLE[encoding]:
        return Measure(encoding, units, 1)
    if encoding == "gsm7" and units == len(text):
        return Measure(encoding, units, -(-units // PART["gsm7", 8]))
    return Measure(encoding, units, sum(1 for _ in _filled(text, encoding, PART[encoding, 8])))


def split(text: str, reference_bits: ReferenceBits = 8) -> tuple[str, ...]:
    """Return the parts of a text message, none of them cutting a character in two.

    A character of two septets or two code units that no longer fits moves to the next part, so
    parts can be more than the units divided by the limit. Raises ValueError above 255 parts.
    """
    encoding, units = encoding_and_units(text)
    if units <= SINGLE[encoding]:
        return (text,)
    parts = tuple(_filled(text, encoding, PART[encoding, reference_bits]))
    if len(parts) > MOST_PARTS:
        raise ValueError(f"{len(parts)} parts: a message has at most {MOST_PARTS}")
    return parts


def _filled(text: str, encoding: Encoding, limit: int) -> Iterator[str]:
    start = used = 0
    for place, character in enumerate(text):
        cost = _cost(character, encoding)
        if used + cost > limit:
            yield text[start:place]
            start, used = place, 0
        used += cost
    yield text[start:]


def _cost(character: str, encoding: Encoding) -> int:
    if encoding == "gsm7":
        return 2 if character in TWO_SEPTETS else 1
    return 2 if character > "\uffff" else 1


def ussd_limit(encoding: Encoding, position: UssdPosition = "other") -> int:
    """Most units of a USSD string in this position of the dialogue."""
    octets = USSD_OCTETS[position]
    return octets * 8 // 7 if encoding == "gsm7" else octets // 2


def fits_ussd(text: str, position: UssdPosition = "other") -> bool:
    """Tell whether a screen goes through in this position without being cut."""
    encoding, units = encoding_and_units(text)
    return units <= ussd_limit(encoding, position)
