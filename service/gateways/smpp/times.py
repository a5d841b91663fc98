"""Times as SMPP writes them (v3.4, 7.1.1, Appendix B and Appendix C)."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Literal, TypeAlias

ValidityForm: TypeAlias = Literal["relative", "absolute", "none"]

LONGEST = timedelta(days=31)
"""Longest validity asked for; longer ones are cut to it."""
_DIGITS = re.compile(r"\d{10}(\d{2}(\d{2})?)?", re.ASCII)


def validity(valid_for: timedelta | None, form: ValidityForm, now: datetime) -> str:
    """Return a validity period; empty leaves it to the centre. At least one second."""
    if valid_for is None or form == "none":
        return ""
    length = max(timedelta(seconds=1), min(valid_for, LONGEST))
    if form == "absolute":
        # Whole seconds of UTC: no tenths, no quarters of an hour ahead of it.
        return (now + length).astimezone(UTC).strftime("%y%m%d%H%M%S") + "000+"
    seconds = int(length.total_seconds())
    minutes, second = divmod(seconds, 60)
    hours, minute = divmod(minutes, 60)
    days, hour = divmod(hours, 24)
    return f"0000{days:02d}{hour:02d}{minute:02d}{second:02d}000R"


def receipt_time(digits: str, zone: tzinfo) -> datetime | None:
    """Read YYMMDDhhmm, with seconds or a four-digit year too; None for anything else.

    Two-digit years to 37 are of this century, later ones of the last.
    """
    if not _DIGITS.fullmatch(digits):
        return None
    if len(digits) == 14:
        year, rest = int(digits[:4]), digits[4:]
    else:
        short, rest = int(digits[:2]), digits[2:]
        year = short + (2000 if short <= 37 else 1900)
    month, day, hour, minute, second = (int(rest[i : i + 2] or "0") for i in range(0, 10, 2))
    try:
        return datetime(year, month, day, hour, minute, second, tzinfo=zone)
    except ValueError:
        return None
