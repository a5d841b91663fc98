"""What people type, made comparable: one kind of digits, small letters, no typing accidents.

Only for reading. Nothing that comes out of here is ever sent to anybody.
"""

from __future__ import annotations

import re
import unicodedata

LONGEST = 10_000
"""Characters of an answer that are looked at; nobody's answer is longer."""
NO_SIZE = "\ufffd"
"""Stands for a sign that means a number but not a size: a superscript, a circled digit."""

_ETHIOPIC = re.compile(r"[0-9\u1369-\u137c]*[\u1369-\u137c][0-9\u1369-\u137c]*")
_TENS_UNITS = "([\u1372-\u137a]?[\u1369-\u1371]?)"
_ETHIOPIC_NUMBER = re.compile(
    f"(?:(?P<h4>{_TENS_UNITS}\u137b)?(?P<t4>{_TENS_UNITS})(?P<m>\u137c))?"
    f"(?P<h>{_TENS_UNITS}\u137b)?(?P<t>{_TENS_UNITS})"
)
_FRACTIONS = {"½": "5", "¼": "25", "¾": "75"}
_FRACTION = re.compile(rf"(\d*)[ ]?([{''.join(_FRACTIONS)}])")
_SIGNS = str.maketrans({"−": "-", "–": "-", "—": "-", "٫": ".", "٬": ",", "،": ",", "፣": ","})

# Latin accents; the Arabic long stroke, vowels, hamza on its letter, and the small alif.
_MARKS = re.compile("[\u0300-\u036f\u0640\u064b-\u0655\u0670]")
# In Hindi a nasal joined to the next letter may as well be written as a dot.
_NASAL = re.compile("[ङञणनम]\u094d(?=[क-म])")
_ARTICLE = re.compile(r"(?<![^\W\d_])ال(?=[^\W\d_]{3})")


def _rows(pairs: str) -> dict[int, str]:
    """Map the seven forms of one Ethiopic letter to those of another that sounds like it."""
    return {
        ord(old) + form: chr(ord(new) + form)
        for old, new in (pair.split("=") for pair in pairs.split())
        for form in range(7)
    }


# Pairs from memory, common practice: no source.
_SAME: dict[int, str] = {ord("ة"): "ه", ord("ى"): "ي", **_rows("ሐ=ሀ ኀ=ሀ ሠ=ሰ ዐ=አ ፀ=ጸ")}


def cleaned(text: str) -> str:
    """Return the text with ASCII digits, small letters, single spaces and no control characters.

    Accents of Latin letters are dropped, and so are the marks that many people leave out in
    Hindi (the dot below; moon-dot and joined nasal are read as the plain dot) and in Arabic
    (vowels, hamza). Of Arabic and Amharic letters that people take for one another one stands for
    all, and the Arabic article is dropped.
    """
    spaced = " ".join(text[:LONGEST].split())
    if spaced.isascii():
        return " ".join("".join(filter(_is_text, spaced)).casefold().split())
    digits = "".join(_ascii_digit(letter) for letter in spaced if _is_text(letter))
    ethiopic = _ETHIOPIC.sub(lambda match: _ethiopic_digits(match[0]), digits.translate(_SIGNS))
    whole = _FRACTION.sub(lambda match: f"{match[1] or 0}.{_FRACTIONS[match[2]]}", ethiopic)
    plain = unicodedata.normalize("NFKC", _without_odd_numbers(whole)).casefold()
    kept = unicodedata.normalize("NFC", _without_marks(plain)).translate(_SAME)
    kept = _NASAL.sub("\u0902", kept)
    return " ".join(_ARTICLE.sub("", kept).split())


def words_only(text: str) -> str:
    """Return the cleaned words of a text, a space between, punctuation gone."""
    return " ".join(_words(cleaned(text)))


def _words(text: str) -> list[str]:
    return "".join(letter if _in_word(letter) else " " for letter in text).split()


def _in_word(letter: str) -> bool:
    return letter.isalnum() or unicodedata.category(letter).startswith("M")


def _is_text(letter: str) -> bool:
    return unicodedata.category(letter) not in ("Cc", "Cf")


def _ascii_digit(letter: str) -> str:
    return str(unicodedata.decimal(letter)) if letter.isdecimal() else letter


def _without_odd_numbers(text: str) -> str:
    """Keep "m³", whose sign belongs to the letter; anywhere else "²" is no number."""
    kept: list[str] = []
    for letter in text:
        odd = unicodedata.category(letter) == "No" and not (kept and kept[-1].isalpha())
        kept.append(NO_SIZE if odd else letter)
    return "".join(kept)


def _without_marks(text: str) -> str:
    apart = unicodedata.normalize("NFD", text).replace("\u093c", "").replace("\u0901", "\u0902")
    return _MARKS.sub("", apart)


def _ethiopic_digits(text: str) -> str:
    """Return the value of an Ethiopic number in digits; they are not positional."""
    match = _ETHIOPIC_NUMBER.fullmatch(text)
    if match is None:
        return NO_SIZE
    high = _hundreds(match["h4"]) + _tens_units(match["t4"] or "")
    if match["m"]:
        # A bare sign of ten thousand is one of them.
        high = high or 1
    return str(high * 10_000 + _hundreds(match["h"]) + _tens_units(match["t"]))


def _hundreds(text: str | None) -> int:
    # A bare sign of a hundred is one of them.
    return 0 if text is None else 100 * (_tens_units(text[:-1]) or 1)


def _tens_units(text: str) -> int:
    return sum(int(unicodedata.numeric(letter)) for letter in text)
