"""The 7-bit default alphabet of mobile phones, and how it is packed into octets.

Table: ETSI TS 123 038 V9.1.1, 6.2.1 and 6.2.1.1. Packing: 6.1.2.1.1 for messages and 6.1.2.3.1
for USSD. The table is held to 137 characters on which several libraries agree (see the tests).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

BASIC = (
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞ\x1bÆæßÉ"
    " !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§"
    "¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
ESCAPE = 0x1B
EXTENSION: Mapping[str, int] = {
    "\x0c": 0x0A,
    "^": 0x14,
    "{": 0x28,
    "}": 0x29,
    "\\": 0x2F,
    "[": 0x3C,
    "~": 0x3D,
    "]": 0x3E,
    "|": 0x40,
    "€": 0x65,
}

# The escape stands in the table only to announce an extension; it is never text.
SEPTETS: Mapping[str, tuple[int, ...]] = {
    character: (code,) for code, character in enumerate(BASIC) if code != ESCAPE
} | {character: (ESCAPE, code) for character, code in EXTENSION.items()}

ONE_SEPTET = frozenset(BASIC) - {"\x1b"}
TWO_SEPTETS = frozenset(EXTENSION)
GSM7 = ONE_SEPTET | TWO_SEPTETS

_CARRIAGE_RETURN = 0x0D


def septets(text: str) -> bytes:
    """Return one octet for each septet of the text (as SMPP carries the default alphabet).

    Raises ValueError for a character outside the alphabet, the escape among them.
    """
    try:
        return bytes(code for character in text for code in SEPTETS[character])
    except KeyError as error:
        raise ValueError(f"not in the 7-bit alphabet: {error.args[0]!r}") from error


def pack(codes: Iterable[int], fill_bits: int = 0) -> bytes:
    """Pack septets into octets, lowest bits first, after `fill_bits` (0 to 6) empty bits."""
    packed, held, bits = bytearray(), 0, fill_bits
    for code in codes:
        held |= code << bits
        bits += 7
        while bits >= 8:
            packed.append(held & 0xFF)
            held >>= 8
            bits -= 8
    if bits:
        packed.append(held)
    return bytes(packed)


def pack_ussd(text: str) -> bytes:
    """Pack a USSD string.

    Seven spare bits at the end would read as "@", so a carriage return fills them; a text that
    itself ends in one on an octet boundary gets a second, which the phone drops.
    """
    codes = septets(text)
    spare_septet = len(codes) % 8 == 7
    ends_in_return = bool(codes) and len(codes) % 8 == 0 and codes[-1] == _CARRIAGE_RETURN
    if spare_septet or ends_in_return:
        codes += bytes([_CARRIAGE_RETURN])
    return pack(codes)
