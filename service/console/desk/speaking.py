"""What templates can call: sentences, moments and numbers in the language of the page."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta, tzinfo
from typing import Any

from babel.dates import format_date, format_datetime, format_time, format_timedelta
from flask import g, request
from markupsafe import Markup

from service.console.desk import sitting
from service.console.desk.access import sent
from service.console.words import Translate
from service.phrases import Month, Number, Phrase, Value, say, say_n
from service.text.languages import LANGUAGES
from service.text.numbers import write_month, write_number


class Speaking:
    """Speaks the language of the request, `g.language`."""

    def __init__(self, translate: Translate, zone: tzinfo) -> None:
        self._translate, self._zone = translate, zone

    def globals(self) -> Mapping[str, Callable[..., Any]]:
        """Return the functions by their names in templates."""
        return {
            "say": self.say,
            "say_n": self.say_n,
            "tell": self.tell,
            "number": self.number,
            "month": self.month,
            "when": self.when,
            "day": self.day,
            "clock": self.clock,
            "lasting": self.lasting,
            "typed": typed,
            "typed_list": typed_list,
            "token": token_field,
        }

    def tell(self, phrase: Phrase | str | None) -> str:
        """Say a phrase that was made in code; plain text stays as it is."""
        if phrase is None or isinstance(phrase, str):
            return phrase or ""
        return self._translate(phrase, g.language)

    def say(self, text: str, /, **values: Value) -> str:
        """Say a sentence of a template."""
        return self.tell(say(text, **values))

    def say_n(self, one: str, many: str, /, *, count: str, **values: Value) -> str:
        """Say a sentence of a template whose form depends on a number."""
        return self.tell(say_n(one, many, count=count, **values))

    def number(self, value: float | None, digits: int = 0) -> str:
        """Write a number with at most so many decimals; nothing for None."""
        if value is None:
            return ""
        return write_number(Number(value, digits), LANGUAGES[g.language])

    def month(self, number: int) -> str:
        """Write a month, 1 to 12, short."""
        return write_month(Month(number), LANGUAGES[g.language])

    def when(self, moment: datetime | None) -> str:
        """Write a moment by the clock of the service; nothing for None."""
        if moment is None:
            return ""
        return format_datetime(moment, "d MMM y, HH:mm", tzinfo=self._zone, locale=_locale())

    def day(self, day: date | None) -> str:
        """Write a day; nothing for None."""
        if day is None:
            return ""
        return format_date(day, "d MMM y", locale=_locale())

    def clock(self, moment: datetime) -> str:
        """Write the time of a moment."""
        return format_time(moment, "HH:mm", tzinfo=self._zone, locale=_locale())

    def lasting(self, time: timedelta) -> str:
        """Write how long something lasts, roughly."""
        return format_timedelta(time, threshold=1.5, locale=_locale())


def typed(name: str, known: object = "") -> str:
    """Return what was typed into a field of the form just sent, else what is known."""
    if sent() and name in request.form:
        return request.form[name]
    return "" if known is None else str(known)


def typed_list(name: str, known: object = ()) -> list[str]:
    """Return what was ticked in the form just sent, else what is known."""
    if sent():
        return request.form.getlist(name)
    return [str(one) for one in known]  # type: ignore[attr-defined]


def token_field() -> Markup:
    """Return the hidden field that every form carries."""
    return Markup('<input type="hidden" name="token" value="{}">').format(sitting.token())


def _locale() -> str:
    return LANGUAGES[g.language].locale
