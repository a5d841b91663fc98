"""The words of the service: `extract`, `update`, `check` and `report` for translators.

Runs in a checkout: it reads the code, the conversations in `flows/` and the catalogues in
`locales/`, and writes only there. `python -m service.wiring.words check` is part of the checks;
a language's code alone, as in `words sw`, reports on that language.
"""

from __future__ import annotations

import argparse
import re
import sys
import tomllib
from collections.abc import Iterable, Sequence
from io import BytesIO
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import write_po

from service.errors import LineProblem, TextFileError
from service.text import checks, reviews
from service.text.catalogues import read_catalogue
from service.text.glossary import glossary_problems, idle_exceptions, read_glossary
from service.text.languages import (
    LANGUAGES,
    SOURCE_LANGUAGE,
    Language,
    language_of,
)
from service.wiring.words_report import catalogue_report

CHECKOUT = Path(__file__).parents[2]
TEMPLATE = "locales/litreline.pot"
_COMMAND = "python -m service.wiring.words"
# Header lines that would change a file when no sentence did, or that Babel fills with examples.
_NOISE = re.compile(
    r'^"(?:POT-Creation-Date|Generated-By|Report-Msgid-Bugs-To):.*\n'
    r'|^"(?:PO-Revision-Date: YEAR|Last-Translator: FULL|Language-Team: .*<LL@).*\n',
    re.MULTILINE,
)
_HEADER = f"# {{language}} texts of Litreline.\n# {reviews.UNREVIEWED_DRAFT}"


def template(root: Path) -> Catalog:
    """Return every sentence of the checkout, with where it is said and its notes.

    Raises TextFileError for a conversation that is not YAML.
    """
    catalogue = Catalog(project="Litreline", version="1", charset="utf-8", fuzzy=False)
    catalogue.header_comment = "# Texts of Litreline, as code and conversations say them."
    for mapping in _mappings(root):
        found = extract_from_dir(
            str(root),
            [(mapping["pattern"], mapping["method"])],
            keywords=_keywords(mapping.get("keywords", ())),
            comment_tags=mapping.get("add_comments", ()),
            strip_comment_tags=True,
        )
        for file, line, message, comments, context in found:
            place = [(file.replace("\\", "/"), line)]
            catalogue.add(message, None, place, auto_comments=comments, context=context)
    return catalogue


def _mappings(root: Path) -> list[dict[str, Any]]:
    settings = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    return list(settings["tool"]["babel"]["mappings"])


def _keywords(specifications: Iterable[str]) -> dict[str, tuple[int, ...] | None]:
    """Read "say" and "say_n:1,2" as Babel does: which arguments are sentences."""
    parts = (each.partition(":") for each in specifications)
    return {
        name: tuple(map(int, places.split(","))) if places else None for name, _, places in parts
    }


def extract(root: Path) -> str:
    """Return the text of the template: what `locales/litreline.pot` must hold."""
    return _po_text(template(root))


def _po_text(catalogue: Catalog) -> str:
    written = BytesIO()
    # Neither dates nor line numbers: a file changes only when a sentence does.
    write_po(written, catalogue, width=100, include_lineno=False)
    return _NOISE.sub("", written.getvalue().decode("utf-8"))


def problems(root: Path, languages: Iterable[Language]) -> list[LineProblem]:
    """Return everything wrong with the words of a checkout, by file and line."""
    try:
        wanted = template(root)
    except TextFileError as error:
        return list(error.problems)
    found = [*_stale(root, wanted), *checks.source_problems(wanted)]
    for language in languages:
        found += problems_of(root, wanted, language)
    return found + _strangers(root)


def _strangers(root: Path) -> list[LineProblem]:
    """Catalogues of no language that the service speaks."""
    found = sorted((root / "locales").glob("*/LC_MESSAGES/*.po"))
    return [
        LineProblem(str(path.relative_to(root)), 1, "no language of the service has this code")
        for path in found
        if path.parts[-3] not in LANGUAGES
    ]


def _stale(root: Path, wanted: Catalog) -> list[LineProblem]:
    path = root / TEMPLATE
    committed = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
    fresh = _po_text(wanted).splitlines()
    if committed == fresh:
        return []
    pairs = enumerate(zip(committed, fresh, strict=False))
    shorter = min(len(committed), len(fresh))
    first = next((place for place, (old, new) in pairs if old != new), shorter)
    return [LineProblem(TEMPLATE, first + 1, f"out of date; run: {_COMMAND} extract")]


def problems_of(root: Path, wanted: Catalog, language: Language) -> list[LineProblem]:
    file = checks.catalogue_file(language.code)
    if not (root / file).exists():
        return [LineProblem(file, 1, f"no catalogue; run: {_COMMAND} update")]
    try:
        catalogue = catalogue_of(root, language)
    except TextFileError as error:
        return list(error.problems)
    found = checks.all_problems(wanted, catalogue, file, language)
    return found + _by_glossary(root, catalogue, language)


def _by_glossary(root: Path, catalogue: Catalog, language: Language) -> list[LineProblem]:
    """Return where a catalogue leaves its glossary, and what the glossary excuses in vain."""
    page = f"docs/glossary/{language.code}.md"
    if not (root / page).exists():
        return []
    glossary = read_glossary((root / page).read_text(encoding="utf-8"))
    idle = idle_exceptions(glossary, catalogue)
    return [
        *glossary_problems(glossary, catalogue, checks.catalogue_file(language.code)),
        *(LineProblem(page, 1, f"excused in vain: {each.term}: {each.sentence}") for each in idle),
    ]


def catalogue_of(root: Path, language: Language) -> Catalog:
    """Return the catalogue of a language in a checkout; raises TextFileError."""
    file = checks.catalogue_file(language.code)
    text = (root / file).read_text(encoding="utf-8")
    return read_catalogue(text, language.code, file)


def translated() -> tuple[Language, ...]:
    """Languages that need a catalogue."""
    return tuple(each for each in LANGUAGES.values() if each.code != SOURCE_LANGUAGE)


def update(root: Path) -> None:
    """Write the template, and put its sentences into every catalogue, old translations kept."""
    wanted = template(root)
    _write(root / TEMPLATE, _po_text(wanted))
    for language in translated():
        path = root / checks.catalogue_file(language.code)
        catalogue = catalogue_of(root, language) if path.exists() else _new_catalogue(language)
        catalogue.update(wanted, no_fuzzy_matching=True)
        _mark_new(catalogue)
        _write(path, _po_text(catalogue))


def _mark_new(catalogue: Catalog) -> None:
    """Mark what came after the review of a catalogue, before anybody translates it."""
    if reviews.review_of(catalogue) is None:
        return
    for message in catalogue:
        if message.id and not any(checks.sentences(message)) and not reviews.is_marked(message):
            message.user_comments.append(reviews.UNREVIEWED)


def _new_catalogue(language: Language) -> Catalog:
    catalogue = Catalog(
        locale=language.locale, project="Litreline", version="1", charset="utf-8", fuzzy=False
    )
    catalogue.header_comment = _HEADER.format(language=language.english_name)
    # Babel's own default is wrong for Hindi and others.
    catalogue.mime_headers = [("Plural-Forms", language.plural_forms)]
    return catalogue


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="\n")


def report(root: Path, language: Language) -> str:
    """Return what one catalogue lacks, what in it is too long and what nobody has reviewed."""
    wanted, catalogue = template(root), catalogue_of(root, language)
    found = problems_of(root, wanted, language)
    return catalogue_report(wanted, catalogue, language, found)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="litreline words", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    commands.add_parser("extract", help="write the template of all sentences")
    commands.add_parser("update", help="write the template and carry it into every catalogue")
    commands.add_parser("check", help="fail, with file and line, on anything wrong")
    help_ = "what a language lacks, what is too long, unreviewed; the code alone does the same"
    one = commands.add_parser("report", help=help_)
    one.add_argument("language", choices=[each.code for each in translated()])
    return parser


def main(argv: Sequence[str] | None = None, root: Path = CHECKOUT) -> int:
    """Run one command and return its exit code; problems go to standard error."""
    given = list(sys.argv[1:] if argv is None else argv)
    if given[:1] and given[0] in {each.code for each in translated()}:
        given.insert(0, "report")
    arguments = _parser().parse_args(given)
    if not (root / "pyproject.toml").exists():
        sys.stderr.write(f"{root} is no checkout of the project: it has no pyproject.toml\n")
        return 2
    try:
        return _run(arguments, root)
    except TextFileError as error:
        sys.stderr.write(f"{error}\n")
        return 1


def _run(arguments: argparse.Namespace, root: Path) -> int:
    if arguments.command == "extract":
        _write(root / TEMPLATE, extract(root))
    elif arguments.command == "update":
        update(root)
    elif arguments.command == "report":
        sys.stdout.write(report(root, language_of(arguments.language)))
    else:
        found = problems(root, translated())
        sys.stderr.write("".join(f"{problem}\n" for problem in found))
        return 1 if found else 0
    return 0


if __name__ == "__main__":
    sys.exit(main())
