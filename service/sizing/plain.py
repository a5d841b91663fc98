"""A phrase in plain English, for JSON, logs and whoever has no catalogue at hand."""

from __future__ import annotations

from service.phrases import Month, Number, Phrase, Value, Weekday

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def plain_english(phrase: Phrase) -> str:
    """Return the English sentence with its values filled in."""
    count = phrase.values.get(phrase.count) if phrase.count else None
    text = phrase.plural if phrase.plural is not None and count != 1 else phrase.text
    if not phrase.values:
        return text
    return text.format_map({name: _plain(value) for name, value in phrase.values.items()})


def _plain(value: Value) -> str:
    if isinstance(value, Phrase):
        return plain_english(value)
    if isinstance(value, tuple):
        return ", ".join(plain_english(phrase) for phrase in value)
    if isinstance(value, Number):
        shown = f"{value.value:.{value.digits}f}"
        return shown.rstrip("0").rstrip(".") if value.digits else shown
    if isinstance(value, Month):
        return _MONTHS[value.number - 1]
    if isinstance(value, Weekday):
        return _DAYS[value.number]
    return str(value)
