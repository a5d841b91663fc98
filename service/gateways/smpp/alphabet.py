"""Text in the octets of a message, by its data coding.

SMPP 3.4, 5.2.19, says only that 0 is the centre's default. Here that is the 7-bit alphabet, one
septet an octet, unless the operator says otherwise. USSD uses the scheme of ETSI TS 123 038
V9.1.1, clause 5, for some of its codings.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, TypeAlias

from service.text.measure import encoding_and_units
from service.text.septets import BASIC, ESCAPE, EXTENSION, septets

Alphabet: TypeAlias = Literal["gsm7", "latin1", "ascii"]
"""What data coding 0 stands for at this centre."""

_EXTENDED: Mapping[int, str] = {code: character for character, code in EXTENSION.items()}
_BINARY = frozenset({0x02, 0x04, *range(0xF4, 0xF8)})
_UCS2 = frozenset({0x08, 0x48, *range(0x18, 0x1C)})
_GSM7 = frozenset({0x0F, *range(0x10, 0x14), *range(0xF0, 0xF4)})
_CODECS: Mapping[int, str] = {0x01: "ascii", 0x03: "latin-1", 0x06: "iso8859-5", 0x07: "iso8859-8"}


def octets_of(text: str) -> tuple[bool, bytes]:
    """Return whether a text needs UCS-2, and its octets: septets one each, or UTF-16."""
    if encoding_and_units(text)[0] == "gsm7":
        return False, septets(text)
    return True, text.encode("utf-16-be", "replace")


def text_of(octets: bytes, data_coding: int, default: Alphabet = "gsm7") -> str | None:
    """Return the text in octets, or None where the coding says that they are no text.

    Octets that the coding does not know are never a reason to lose the rest.
    """
    if data_coding in _BINARY:
        return None
    if data_coding in _UCS2:
        return octets.decode("utf-16-be", "replace")
    if data_coding in _GSM7 or (data_coding == 0 and default == "gsm7"):
        return gsm7_text(octets)
    return octets.decode(_CODECS.get(data_coding, "latin-1"), "replace")


def gsm7_text(octets: bytes) -> str:
    """Return the text in septets that stand one in each octet.

    An extension that we do not know reads as the basic letter of its code, which is what the
    standard asks of a phone (TS 123 038, 6.2.1.1); an octet above 127 can only be Latin-1.
    """
    letters, escaped = [], False
    for code in octets:
        if escaped:
            letters.append(_EXTENDED.get(code) or _basic(code))
            escaped = False
        elif code == ESCAPE:
            escaped = True
        else:
            letters.append(_basic(code))
    return "".join(letters)


def _basic(code: int) -> str:
    if code >= len(BASIC):
        return chr(code)
    return " " if code == ESCAPE else BASIC[code]
