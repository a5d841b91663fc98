"""One number as typed, read by a rule that holds in every language.

One separator with one, two or more than three digits behind it is a decimal mark; exactly three
digits behind it are ambiguous ("1,250" is one and a quarter here and twelve hundred and fifty
there) unless nothing or 0 stands in front; of two different separators the last is the decimal
mark. Exponents, signs inside and repeated separators are refused: the caller is asked again.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Literal, TypeAlias

Reason: TypeAlias = Literal[
    "no-number", "many-numbers", "ambiguous-number", "wrong-unit", "too-small", "too-large"
]

_MOST_DIGITS = 15
_GROUPS = re.compile(r"\d{1,3}(?:[.,]\d{3})+|\d{1,2}(?:,\d{2})+,\d{3}")


def read_literal(literal: str) -> Decimal | Reason:
    """Return the value of digits with points and commas, or why it is none.

    "too-small" is a number below zero, "too-large" one of more than 15 digits.
    """
    if literal.startswith("-"):
        return "too-small"
    digits = literal.lstrip("+").rstrip(".,")
    if sum(map(str.isdigit, digits)) > _MOST_DIGITS:
        return "too-large"
    marks = [sign for sign in digits if sign in ".,"]
    if not marks:
        return Decimal(digits)
    whole, _, fraction = digits.rpartition(marks[-1])
    if len(marks) == 1:
        return _with_one_mark(whole, fraction)
    grouped = marks[-1] not in marks[:-1] and _GROUPS.fullmatch(whole) is not None
    if not grouped or len(set(marks[:-1])) > 1:
        return "ambiguous-number"
    return Decimal(f"{re.sub('[.,]', '', whole)}.{fraction}")


def _with_one_mark(whole: str, fraction: str) -> Decimal | Reason:
    if len(fraction) == 3 and whole.strip("0"):
        return "ambiguous-number"
    return Decimal(f"{whole or 0}.{fraction}")
