"""Typographic look-alikes that would triple the price of a text, put into plain characters.

Only quotes, dashes, the three spaces that locale formatting puts in, and the ellipsis are
replaced, after composing accents (NFC). Letters are never changed: an accent can be the
difference between two words, so a plain spelling is a translator's wording, not ours.
"""

from __future__ import annotations

import unicodedata

_SPACES = "\u00a0\u202f\u2009"
_SINGLE_QUOTES = "‘’‚‛′‵‹›`´"
_DOUBLE_QUOTES = "“”„‟″‶«»"
_DASHES = "‐‑‒–—―−"

_LOOK_ALIKES = str.maketrans(
    dict.fromkeys(_SPACES, " ")
    | dict.fromkeys(_SINGLE_QUOTES, "'")
    | dict.fromkeys(_DOUBLE_QUOTES, '"')
    | dict.fromkeys(_DASHES, "-")
    | {"…": "..."}
)
_PLAIN_SPACES = str.maketrans(dict.fromkeys(_SPACES, " "))


def fold(text: str) -> str:
    """Return the text composed (NFC), its look-alikes replaced by plain characters."""
    return unicodedata.normalize("NFC", text).translate(_LOOK_ALIKES)


def plain_spaces(text: str) -> str:
    """Return the text with the spaces of locale formatting made ordinary ones."""
    return text.translate(_PLAIN_SPACES)
