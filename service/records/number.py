"""Phone numbers: read to E.164, shown masked, told apart in logs by a keyed hash."""

from __future__ import annotations

import hashlib
import hmac
import re
from functools import lru_cache

import phonenumbers
from phonenumbers import NumberParseException, PhoneNumber, PhoneNumberFormat

from service.errors import LitrelineError

_E164 = re.compile(r"\+[1-9][0-9]{3,14}")
_SCHEME = re.compile(r"^tel:", re.IGNORECASE)
_EXTENSION = re.compile(r";ext=[0-9]{1,7}$", re.IGNORECASE)
_MOST_LETTERS = 40


class NumberRefused(LitrelineError, ValueError):
    """What was given is no phone number; the message does not repeat it."""


@lru_cache(maxsize=4096)
def read_number(text: str, region: str = "") -> str:
    """Return a number in E.164, such as "+254712345678".

    Digits of any script, spaces and brackets, a leading + or 00, and the forms local to `region`
    (two capitals, such as "KE") are read. Letters are refused, since "07I2" is a slip and
    "FARM" no phone.

    Raises
    ------
    NumberRefused
        When it cannot be a number that is dialled.
    """
    bare = _EXTENSION.sub("", _SCHEME.sub("", text.strip()))
    if any(letter.isalpha() for letter in bare) or len(bare) > _MOST_LETTERS:
        raise NumberRefused("a phone number has digits only, such as +10005550100")
    found = _possible(bare, region)
    if found is None and (digits := _after_zeros(bare)):
        # Not every country dials 00 for abroad, but everybody writes it.
        found = _possible(f"+{digits}", "")
    if found is None:
        where = f" of {region}" if region else ""
        raise NumberRefused(f"not a phone number{where}: send + and the country code first")
    return phonenumbers.format_number(found, PhoneNumberFormat.E164)


def _possible(text: str, region: str) -> PhoneNumber | None:
    try:
        number = phonenumbers.parse(text, region or None)
    except NumberParseException:
        return None
    return number if phonenumbers.is_possible_number(number) else None


def _after_zeros(text: str) -> str:
    digits = phonenumbers.normalize_digits_only(text)
    return digits.removeprefix("00") if digits.startswith("00") else ""


def masked(number: str) -> str:
    """Return a number that a person may see on a screen: "+254 7** *** 678".

    Whatever is no E.164 number, such as the name of a page's visitor, keeps only its kind.
    """
    if not _E164.fullmatch(number):
        kind, colon, _ = number.partition(":")
        return f"{kind}:***" if colon else "***"
    parsed = phonenumbers.parse(number)
    national = phonenumbers.national_significant_number(parsed)
    return f"+{parsed.country_code} {national[:1]}** *** {national[-3:]}"


def number_hash(number: str, key: str) -> str:
    """Return a short name for a number in logs; without the key it cannot be turned back.

    A plain hash could: there are few enough numbers to try them all.
    """
    digest = hmac.new(key.encode("utf-8"), number.encode("utf-8"), hashlib.sha256)
    return digest.hexdigest()[:12]
