"""What each language costs, and who has read it: `docs/languages.md`, written from the catalogues.

`litreline words languages` writes it; with `check` it only says whether the page still is what
catalogues, glossaries and conversations say. Answers are those of an invented plot on an invented
day, so that every language says the same.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from service.advice import Context, Planner
from service.dialogue import Dialogue
from service.outreach.weekly import weekly_text
from service.phrases import Screen
from service.records import Plot
from service.text.catalogues import Catalogues, read_catalogue
from service.text.checks import catalogue_file, cost
from service.text.languages import LANGUAGES, SOURCE_LANGUAGE, Language
from service.text.measure import measure
from service.text.render import USSD_PAGE, one_text, render
from service.wiring.build import flow_book
from service.wiring.files import read_text
from service.wiring.tables import load_tables
from service.wiring.words import CHECKOUT, template, translated
from service.wiring.words_report import review_told

PAGE = "docs/languages.md"
COMMAND = "litreline words languages"
DAY = date(2026, 11, 23)
HELPLINE = "0800 100 200"
PLANNED: Mapping[str, object] = {
    "district": "kotsindo",
    "plot_length_m": 20.0,
    "plot_width_m": 20.0,
    "crop": "tomato",
    "weeks_since_planting": 5,
    "tank_volume_l": 500.0,
    "stand_height_m": 2.0,
    "soil_feel": "dry",
    "fertiliser": "urea",
    "laid": "as_planned",
}
"""An invented plot."""
LAID: Mapping[str, object] = {
    "district": "kotsindo",
    "laid": "told",
    "laid_lines": 20,
    "laid_line_length_m": 20.0,
    "main_pipe": "32",
    "crop": "tomato",
    "weeks_since_planting": 5,
    "weeks_told_on": DAY.isoformat(),
    "tank_volume_l": 500.0,
    "stand_height_m": 2.0,
}
"""The same, already laid: what a weekly text is about."""
RESULTS: Mapping[str, tuple[str, str]] = {
    "plan: water and stand": ("plan", "care"),
    "plan: layout": ("plan", "layout_good"),
    "plan: minutes": ("plan", "watering"),
    "plan: parts": ("plan", "parts"),
    "plan: months": ("plan", "months"),
    "plan: in one text": ("plan", "short"),
    "water today": ("water", "today"),
    "water today: why": ("water", "why"),
    "feed: how much": ("feed", "amount"),
    "feed: dissolve": ("feed", "dissolve"),
    "feed: never": ("feed", "never"),
    "caution: acid": ("upkeep", "acid_for"),
    "caution: chlorine": ("upkeep", "chlorine_for"),
    "first aid": ("helpline", "injury"),
}
"""Screens that answer something, by what they are called here."""
WEEKLY = "weekly reminder"
_HEAD = f"""\
# Languages

Written by `{COMMAND}` from catalogues, glossaries and conversations: change those, not this page.
A text message holds 160 letters of the 7-bit alphabet (GSM-7) or 70 of any other (UCS-2); when it
needs more, a part of it holds 153 or 67. A screen of a call holds 160 or 70.
"""


@dataclass(frozen=True, slots=True)
class Cost:
    """What one language takes: pages of each result screen, parts of each answer by text."""

    pages: Mapping[str, int]
    parts: Mapping[str, int]

    @property
    def on_one_page(self) -> str:
        """How many of the result screens need one page."""
        whole = sum(pages == 1 for pages in self.pages.values())
        return f"{whole} of {len(self.pages)}"


def page_text(root: Path = CHECKOUT) -> str:
    """Return the page as the checkout makes it. Raises TextFileError for a broken catalogue."""
    po_files = {
        language.code: read_text(root / catalogue_file(language.code)) for language in translated()
    }
    catalogues = Catalogues(po_files)
    costs = _costs(catalogues)
    return "\n".join(
        [
            _HEAD,
            *_overview(len(template(root)), po_files, costs),
            "",
            *_by_answer(costs),
            "",
            *_spellings(root, po_files),
        ]
    )


def _costs(catalogues: Catalogues) -> dict[str, Cost]:
    context = Context(Planner(load_tables(None, None).tables), DAY, helpline=HELPLINE)
    dialogue = Dialogue(flow_book())
    screens = {
        name: dialogue.show(dialogue.place(SOURCE_LANGUAGE, *place, PLANNED), context)
        for name, place in RESULTS.items()
    }
    return {code: _cost(code, screens, catalogues, context) for code in LANGUAGES}


def _cost(
    code: str, screens: Mapping[str, Screen], catalogues: Catalogues, context: Context
) -> Cost:
    pages = {
        name: len(render(screen, code, catalogues, budget=USSD_PAGE))
        for name, screen in screens.items()
    }
    texts = {name: one_text(screen, code, catalogues) for name, screen in screens.items()}
    now = datetime(DAY.year, DAY.month, DAY.day, tzinfo=UTC)
    plot = Plot("plot", "phone", now, now, answers=LAID)
    texts[WEEKLY] = weekly_text(plot, context, catalogues.translate, code, DAY).text
    return Cost(pages, {name: measure(text).parts for name, text in texts.items()})


def _overview(texts: int, po_files: Mapping[str, str], costs: Mapping[str, Cost]) -> Iterator[str]:
    yield "| language | texts | of them in UCS-2 | result screens on one page | cost | review |"
    yield "|---|---|---|---|---|---|"
    english = sum(costs[SOURCE_LANGUAGE].parts.values())
    for language in LANGUAGES.values():
        found = costs[language.code]
        share = sum(found.parts.values()) / english
        said, ucs2, review = _texts(language, texts, po_files)
        yield (
            f"| {language.english_name} ({language.code}) | {said} of {texts} | {ucs2} |"
            f" {found.on_one_page} | {share:.1f} | {review} |"
        )
    yield ""
    yield "Cost: parts of all the answers below together, over those of English."


def _texts(language: Language, texts: int, po_files: Mapping[str, str]) -> tuple[int, int, str]:
    if language.code == SOURCE_LANGUAGE:
        return texts, 0, "the language that is translated"
    catalogue = read_catalogue(
        po_files[language.code], language.code, catalogue_file(language.code)
    )
    sizes = [size for message in catalogue if message.id and (size := cost(message))]
    return len(sizes), sum(size.encoding == "ucs2" for size in sizes), review_told(catalogue)


def _by_answer(costs: Mapping[str, Cost]) -> Iterator[str]:
    yield "## Parts of the common answers by text\n"
    yield f"| answer | {' | '.join(costs)} |"
    yield f"|---|{'---|' * len(costs)}"
    for name in (*RESULTS, WEEKLY):
        yield f"| {name} | {' | '.join(str(each.parts[name]) for each in costs.values())} |"
    yield ""
    yield (
        "The whole answer with its choices. By text no more than two parts leave at once; the rest"
        "\nwaits until it is asked for."
    )


def _spellings(root: Path, po_files: Mapping[str, str]) -> Iterator[str]:
    yield "## Plain spellings\n"
    yield (
        "Chosen by a person where a letter would turn a text into UCS-2; nothing is stripped as a"
        "\ntext leaves. A language that is not here needs none."
    )
    for language in translated():
        told = [*_of_header(po_files[language.code]), *_of_glossary(root, language)]
        told += [f"From the calendar: {old} = {new}." for old, new in language.plain_words.items()]
        if language.gsm7 and told:
            yield f"\n**{language.english_name}.** {' '.join(told)}"


def _of_header(po_text: str) -> Iterator[str]:
    """Yield what the head of a catalogue tells beyond its name and review."""
    lines = po_text.partition("\nmsgid")[0].splitlines()[1:]
    kept = (line.lstrip("# ") for line in lines)
    yield from (line for line in kept if not re.match("Unreviewed|Reviewed", line))


def _of_glossary(root: Path, language: Language) -> Iterator[str]:
    path = root / "docs" / "glossary" / f"{language.code}.md"
    found = re.search(r"^Spelt plain.*?(?=\n\n)", read_text(path), re.MULTILINE | re.DOTALL)
    if found:
        yield " ".join(found[0].split())


def main(argv: Sequence[str] | None = None, root: Path = CHECKOUT) -> int:
    """Write the page, or say whether it is out of date; return the exit code."""
    parser = argparse.ArgumentParser(prog=COMMAND, description=__doc__)
    parser.add_argument("command", nargs="?", choices=["write", "check"], default="write")
    command = parser.parse_args(argv).command
    path, text = root / PAGE, page_text(root) + "\n"
    if command == "write":
        path.write_text(text, encoding="utf-8", newline="\n")
        return 0
    if path.exists() and path.read_text(encoding="utf-8") == text:
        return 0
    sys.stderr.write(f"{PAGE} is out of date; run: {COMMAND}\n")
    return 1
