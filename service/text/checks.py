"""What can be wrong with a catalogue, found without a speaker of the language.

Each check takes a catalogue (and the template where it needs one) and the name of its file, and
returns problems with file and line. The words of a problem are for translators.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator

from babel.messages.catalog import Catalog, Message

from service.errors import LineProblem
from service.text.budgets import budget_of, is_caution
from service.text.languages import Language
from service.text.measure import Measure, measure
from service.text.placeholders import placeholders, without_placeholders
from service.text.reviews import header_problems
from service.text.septets import GSM7

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_STAND_IN = "0000"
"""What a value is taken to need when a sentence is measured before it has one."""


def catalogue_file(language: str) -> str:
    """Where the catalogue of a language stands in the project."""
    return f"locales/{language}/LC_MESSAGES/litreline.po"


def sentences(message: Message) -> tuple[tuple[str, str], ...]:
    """Pairs of English sentence and translation, one for each form that is not empty."""
    english = _forms(message.id)
    said = _forms(message.string or "")
    # Every form after the first belongs to the English plural.
    return tuple(
        (english[min(place, len(english) - 1)], form) for place, form in enumerate(said) if form
    )


def missing(template: Catalog, catalogue: Catalog, file: str) -> list[LineProblem]:
    """Sentences of the template that the catalogue does not say; cautions are named as such."""
    problems = []
    for wanted in _messages(template):
        found = catalogue.get(wanted.id, wanted.context)
        if found is not None and all(_forms(found.string or "")) and not found.fuzzy:
            continue
        what = "caution missing" if is_caution(wanted) else "text missing"
        line = _line(found) if found is not None else 1
        problems.append(LineProblem(file, line, f"{what}: {named(wanted)}"))
    return problems


def unknown_messages(template: Catalog, catalogue: Catalog, file: str) -> list[LineProblem]:
    """Sentences of the catalogue that nobody says any more."""
    return [
        LineProblem(file, _line(message), f"nobody says this any more: {named(message)}")
        for message in _messages(catalogue)
        if template.get(message.id, message.context) is None
    ]


def unknown_placeholders(catalogue: Catalog, file: str) -> list[LineProblem]:
    """Placeholders of a translation that its sentence does not have."""
    return [
        LineProblem(file, _line(message), f"unknown placeholder {{{name}}}: {said!r}")
        for message in _messages(catalogue)
        for _, said in sentences(message)
        for name in sorted(placeholders(said) - _all_placeholders(message))
    ]


def lost_placeholders(catalogue: Catalog, file: str) -> list[LineProblem]:
    """Placeholders of a sentence that a form of its translation has lost."""
    return [
        LineProblem(file, _line(message), f"lost placeholder {{{name}}}: {said!r}")
        for message in _messages(catalogue)
        for english, said in sentences(message)
        for name in sorted(placeholders(english) - placeholders(said))
    ]


def stray_braces(catalogue: Catalog, file: str) -> list[LineProblem]:
    """Braces that are no placeholder: a misspelt one would be shown as it stands."""
    return [
        LineProblem(file, _line(message), f"stray brace: {said!r}")
        for message in _messages(catalogue)
        for _, said in sentences(message)
        if re.search(r"[{}]", without_placeholders(said))
    ]


def numbers_differ(catalogue: Catalog, file: str) -> list[LineProblem]:
    """Numbers of a sentence that its translation does not repeat, or adds."""
    problems = []
    for message in _messages(catalogue):
        for english, said in sentences(message):
            if _numbers(english) != _numbers(said):
                text = f"numbers differ from {_shown(_numbers(english))}: {said!r}"
                problems.append(LineProblem(file, _line(message), text))
    return problems


def over_budget(template: Catalog, catalogue: Catalog, file: str) -> list[LineProblem]:
    """Translations that do not fit the room that the template's notes give them."""
    problems = []
    for message in _messages(catalogue):
        wanted = template.get(message.id, message.context)
        budget = budget_of(wanted if wanted is not None else message)
        for _, said in sentences(message):
            size = _measured(said)
            room = budget.of(size.encoding)
            if size.units > room:
                text = f"too long: {size.units} of {room} {size.encoding} units: {said!r}"
                problems.append(LineProblem(file, _line(message), text))
    return problems


def not_gsm7(catalogue: Catalog, file: str, language: Language) -> list[LineProblem]:
    """Letters that turn a text into UCS-2 in a language that promised to do without."""
    if not language.gsm7:
        return []
    return [
        LineProblem(file, _line(message), f"not in the 7-bit alphabet: {letters}: {said!r}")
        for message in _messages(catalogue)
        for _, said in sentences(message)
        if (letters := " ".join(sorted(set(said) - GSM7)))
    ]


def wrong_plural_rule(catalogue: Catalog, file: str, language: Language) -> list[LineProblem]:
    """A plural rule in the header that is not the language's own."""
    found, wanted = (_rule(rule) for rule in (catalogue.plural_forms, language.plural_forms))
    if found == wanted:
        return []
    return [LineProblem(file, 1, f"Plural-Forms must be: {language.plural_forms}")]


def all_problems(
    template: Catalog, catalogue: Catalog, file: str, language: Language
) -> list[LineProblem]:
    """Return everything wrong with one catalogue, by line."""
    found = [
        *missing(template, catalogue, file),
        *unknown_messages(template, catalogue, file),
        *unknown_placeholders(catalogue, file),
        *lost_placeholders(catalogue, file),
        *stray_braces(catalogue, file),
        *numbers_differ(catalogue, file),
        *over_budget(template, catalogue, file),
        *not_gsm7(catalogue, file, language),
        *wrong_plural_rule(catalogue, file, language),
        *header_problems(catalogue, file),
    ]
    return sorted(found, key=lambda problem: problem.line)


def source_problems(template: Catalog) -> list[LineProblem]:
    """What is wrong with the English sentences themselves, at the place that says them."""
    problems = []
    for message in _messages(template):
        file, line = message.locations[0] if message.locations else ("locales/litreline.pot", 1)
        for said in _forms(message.id):
            if letters := " ".join(sorted(set(said) - GSM7)):
                text = f"not in the 7-bit alphabet: {letters}: {said!r}"
                problems.append(LineProblem(file, line or 1, text))
            if re.search(r"[{}]", without_placeholders(said)):
                problems.append(LineProblem(file, line or 1, f"stray brace: {said!r}"))
            size, room = _measured(said), budget_of(message).of("gsm7")
            if size.units > room:
                text = f"too long: {size.units} of {room} septets: {said!r}"
                problems.append(LineProblem(file, line or 1, text))
    return problems


def cost(message: Message) -> Measure | None:
    """What the longest form of a translation costs as a text, or None when there is none."""
    sizes = [_measured(said) for _, said in sentences(message)]
    return max(sizes, key=lambda size: (size.parts, size.units), default=None)


def _messages(catalogue: Catalog) -> Iterator[Message]:
    return (message for message in catalogue if message.id)


def _forms(text: str | Iterable[str]) -> tuple[str, ...]:
    return (text,) if isinstance(text, str) else tuple(text)


def _all_placeholders(message: Message) -> frozenset[str]:
    return frozenset().union(*map(placeholders, _forms(message.id)))


def _numbers(text: str) -> Counter[str]:
    # A decimal comma is the same number as a decimal point.
    written = _NUMBER.findall(without_placeholders(text, " "))
    return Counter(number.replace(",", ".") for number in written)


def _shown(numbers: Counter[str]) -> str:
    return " ".join(sorted(numbers.elements())) or "none"


def _measured(text: str) -> Measure:
    return measure(without_placeholders(text, _STAND_IN))


def _line(message: Message) -> int:
    return message.lineno or 1


def named(message: Message) -> str:
    """Return how a problem names a sentence."""
    return repr(_forms(message.id)[0])


def _rule(header: str) -> str:
    return re.sub(r"[\s();]", "", header)
