"""Numbers, months and days of the week as a language writes them, ASCII digits, plain spaces.

Thousands are not grouped below a million: "1,250" is one and a quarter to some readers, the
service itself would refuse it as an answer, and a space inside a number may be cut by a page.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal
from functools import cache

from babel.dates import get_day_names, get_month_names
from babel.numbers import format_decimal

from service.phrases import Month, Number, Weekday
from service.text.fold import plain_spaces
from service.text.languages import Language, language_of

_GROUPED_FROM = 1_000_000
_TOO_LARGE = 1e15


def write_number(number: Number, language: Language) -> str:
    """Return a number with at most `digits` decimals, trailing zeros dropped.

    Halves round away from zero. Raises ValueError for a number that is not finite, for one of
    1e15 or more (a float no longer holds its digits) and outside 0 to 9 `digits`.
    """
    writable = math.isfinite(number.value) and abs(number.value) < _TOO_LARGE
    if not writable or not 0 <= number.digits <= 9:
        raise ValueError(f"cannot write {number}")
    # repr first: 2.675 is to be rounded as it was written, not as its binary neighbour.
    exact = (
        Decimal(repr(number.value)) if isinstance(number.value, float) else Decimal(number.value)
    )
    rounded = exact.quantize(Decimal(1).scaleb(-number.digits), ROUND_HALF_UP)
    # Adding zero turns the "-0" of a small negative number into "0".
    return _write(rounded + 0, number.digits, language.locale)


def _write(value: Decimal, digits: int, locale: str) -> str:
    written = format_decimal(
        value,
        format="#,##0" + "." * bool(digits) + "#" * digits,
        locale=locale,
        group_separator=abs(value) >= _GROUPED_FROM,
    )
    return plain_spaces(written)


def write_month(month: Month, language: Language) -> str:
    """Return the short name of a month; raises ValueError outside 1 to 12."""
    if not 1 <= month.number <= 12:
        raise ValueError(f"month {month.number} is not one of 1 to 12")
    return _months(language.code)[month.number - 1]


def write_weekday(weekday: Weekday, language: Language) -> str:
    """Return the full name of a day of the week; raises ValueError outside 0 (Monday) to 6."""
    if not 0 <= weekday.number <= 6:
        raise ValueError(f"day {weekday.number} of a week is not one of 0 to 6")
    return _weekdays(language.code)[weekday.number]


@cache
def _weekdays(code: str) -> tuple[str, ...]:
    language = language_of(code)
    names = get_day_names("wide", context="format", locale=language.locale)
    return tuple(language.plain_words.get(names[day], names[day]) for day in range(7))


@cache
def _months(code: str) -> tuple[str, ...]:
    language = language_of(code)
    names = get_month_names("abbreviated", context="stand-alone", locale=language.locale)
    # The full stop of an abbreviation would read as the end of the sentence.
    bare = (plain_spaces(names[month]).removesuffix(".") for month in range(1, 13))
    return tuple(language.plain_words.get(name, name) for name in bare)
