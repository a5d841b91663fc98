"""Sentences in every language: catalogues compiled in memory from the text of their .po files.

Nothing compiled is kept on disk, so nothing can be stale. A sentence that a catalogue lacks is
said in English; the check of the catalogues (`checks`) is what keeps that from happening.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from gettext import GNUTranslations, NullTranslations
from io import BytesIO, StringIO

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import PoFileError, read_po

from service.errors import LineProblem, TextFileError
from service.phrases import Month, Number, Phrase, Value, Weekday
from service.text.checks import catalogue_file, unknown_placeholders
from service.text.fold import fold
from service.text.languages import LANGUAGES, Language, language_of
from service.text.numbers import write_month, write_number, write_weekday
from service.text.placeholders import PLACEHOLDER
from service.text.reviews import Review, review_of


class Catalogues:
    """Says phrases in the language asked for.

    `po_files` maps a language's code to the text of its catalogue; a known language without one
    speaks English sentences with its own numbers.
    """

    def __init__(self, po_files: Mapping[str, str]) -> None:
        # A catalogue that lies ready for a language not spoken yet must stop nobody's call; the
        # check of the catalogues names a folder that no language has.
        spoken = {code: text for code, text in po_files.items() if code in LANGUAGES}
        self._translations: dict[str, NullTranslations] = {}
        self._reviews: dict[str, Review | None] = {}
        for code, text in spoken.items():
            catalogue = read_catalogue(text, code, catalogue_file(code))
            self._translations[code] = _compiled(code, catalogue)
            self._reviews[code] = review_of(catalogue)

    def translate(self, phrase: Phrase, language: str) -> str:
        """Return the phrase in a language, its values written by that language's rules.

        Raises ValueError for an unknown language, and for a placeholder without a value or a
        plural whose count is not a whole number: those are mistakes in our own code.
        """
        spoken = language_of(language)
        sentence = self._sentence(phrase, self._translations.get(language))
        return fold(PLACEHOLDER.sub(lambda match: self._value(phrase, match[1], spoken), sentence))

    def reviewed(self, language: str) -> Review | None:
        """Return which speaker read the catalogue of a language, and when; None for a draft.

        English, which is written and not translated, has no catalogue and so no review. Raises
        ValueError for an unknown language.
        """
        return self._reviews.get(language_of(language).code)

    def _sentence(self, phrase: Phrase, translations: NullTranslations | None) -> str:
        if not phrase.text:
            # In gettext the empty key holds the header of the catalogue.
            return ""
        said = translations or _ENGLISH
        if phrase.plural is None:
            if phrase.context is None:
                return said.gettext(phrase.text)
            return said.pgettext(phrase.context, phrase.text)
        number = _count(phrase)
        if phrase.context is None:
            return said.ngettext(phrase.text, phrase.plural, number)
        return said.npgettext(phrase.context, phrase.text, phrase.plural, number)

    def _value(self, phrase: Phrase, name: str, language: Language) -> str:
        try:
            value = phrase.values[name]
        except KeyError:
            raise ValueError(f"no value for {{{name}}} in {phrase.text!r}") from None
        return self._written(value, language)

    def _written(self, value: Value, language: Language) -> str:
        match value:
            case str():
                return value
            case int():
                return write_number(Number(value), language)
            case Number():
                return write_number(value, language)
            case Month():
                return write_month(value, language)
            case Weekday():
                return write_weekday(value, language)
            case Phrase():
                return self.translate(value, language.code)
            case _:
                return language.list_comma.join(
                    self.translate(each, language.code) for each in value
                )


_ENGLISH = NullTranslations()
_LINE = re.compile(
    r'\s*(?:#.*|(?:(?:msgctxt|msgid|msgid_plural|msgstr(?:\[\d\])?)\s+)?"(?:[^"\\]|\\.)*"\s*)?'
)


def _count(phrase: Phrase) -> int:
    number = phrase.values.get(phrase.count or "")
    if isinstance(number, Number) and float(number.value).is_integer():
        number = int(number.value)
    if not isinstance(number, int):
        raise ValueError(
            f"count {phrase.count!r} of {phrase.text!r} is no whole number: {number!r}"
        )
    return abs(number)


def read_catalogue(text: str, language: str, file: str) -> Catalog:
    """Return the catalogue in the text of a .po file.

    Raises TextFileError, with file and line, for a text that is not one.
    """
    # Babel itself lets a lost quotation mark pass, and a letter goes with it.
    problems = [
        LineProblem(file, line, f"not a line of a catalogue: {written.strip()!r}")
        for line, written in enumerate(text.split("\n"), 1)
        if not _LINE.fullmatch(written)
    ]
    if problems:
        raise TextFileError(problems)
    try:
        return read_po(StringIO(text), locale=language_of(language).locale, abort_invalid=True)
    except PoFileError as error:
        line = error.lineno if error.lineno is not None else 0
        raise TextFileError([LineProblem(file, line + 1, error.args[0])]) from error


def _compiled(code: str, catalogue: Catalog) -> NullTranslations:
    # A placeholder that the sentence does not have would fail in front of a farmer.
    if problems := unknown_placeholders(catalogue, catalogue_file(code)):
        raise TextFileError(problems)
    machine = BytesIO()
    write_mo(machine, catalogue)
    machine.seek(0)
    return GNUTranslations(machine)
