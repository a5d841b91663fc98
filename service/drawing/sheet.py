"""The installer's sheet as PDF: set by typst from a template and plain strings, no files.

The page is PDF/A-2b with fonts inside, and a letter that no font has is refused, never left out.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from functools import cache
from importlib import resources
from typing import Any, Literal

import typst

from service.drawing import sheet_words as words
from service.drawing.paper import Labels
from service.drawing.picture import picture
from service.drawing.scripts import scripts_of
from service.drawing.shares import STRIP_MM, share_strip
from service.drawing.svg import Canvas
from service.errors import LitrelineError
from service.phrases import Phrase, say
from service.sizing.card import PlotCard
from service.sizing.plain import plain_english
from service.sizing.result import Layout, PartLine, Plan
from service.text.languages import LANGUAGES

WIDTH_MM = 186.0
"""Between the margins of an A4 page."""
PICTURE_HEIGHTS_MM = (120.0, 105.0, 92.0, 80.0, 68.0)
"""Tried in turn until the front fits one page; a list too long for the last goes on to the next."""

LATIN = "Libertinus Serif"
"""The typeface that typst carries: Latin, Greek and Cyrillic letters."""


class SheetError(LitrelineError):
    """A sheet that cannot be set, with typst's reason."""


@dataclass(frozen=True)
class SheetFonts:
    """Typefaces for a sheet.

    Attributes
    ----------
    fonts : typst.Fonts
        What was loaded: by default only what typst carries, so that a sheet is the same anywhere.
    families : tuple of str
        Families in the order in which they are tried for a letter.
    """

    fonts: typst.Fonts = field(default_factory=lambda: typst.Fonts(include_system_fonts=False))
    families: tuple[str, ...] = (LATIN,)


@cache
def _latin_fonts() -> SheetFonts:
    return SheetFonts()


@cache
def _template() -> bytes:
    return resources.files("service.drawing").joinpath("sheet.typ").read_bytes()


def installer_sheet_pdf(
    card: PlotCard,
    plan: Plan,
    labels: Labels = plain_english,
    *,
    title: Phrase | None = None,
    notes: Sequence[Phrase] = (),
    currency: str = "",
    language: str = "en",
    direction: Literal["ltr", "rtl"] | None = None,
    fonts: SheetFonts | None = None,
    shop_side: bool = True,
) -> bytes:
    """The recommended layout of a plan as an A4 sheet for the installer.

    Front: cautions, picture to scale with tap marks, share of each line, facts, schedule and parts.
    Back: what to look at in the shop, and what not to buy.

    Parameters
    ----------
    card : PlotCard
        The plot.
    plan : Plan
        Its plan, with parts; with emitters, if the strip of shares is wanted.
    labels : callable
        Words of a phrase in the reader's language.
    title : Phrase, optional
        First line, instead of the plot's measures.
    notes : sequence of Phrase
        Warnings and the like, to stand at the foot of the front.
    currency : str
        In which the parts are priced.
    language : str
        ISO code, for hyphens and for reading aloud.
    direction : str
        Of the script, as known for the language unless given: columns, lists and tables follow it.
        The picture is not mirrored, since left and right on it are those of the plot.
    fonts : SheetFonts, optional
        For letters beyond Latin.
    shop_side : bool
        Whether the back is set.

    Raises
    ------
    SheetError
        A letter that no typeface has, with that letter.
    """
    layout = plan.layouts[plan.recommended]
    used = fonts if fonts is not None else _latin_fonts()
    texts = _texts(card, plan, labels, title or words.title(card), notes, currency, shop_side)
    texts |= {
        "language": language,
        "direction": direction or _direction(language),
        "families": list(used.families),
    }
    strip = share_strip(layout, labels, WIDTH_MM)
    told = labels(say("Each line's share of the water"))
    texts["strip"] = None if strip is None else _drawn(strip, STRIP_MM, told)
    source = ""
    for most in PICTURE_HEIGHTS_MM:
        plot = picture(card, layout, labels, WIDTH_MM, most)
        source = json.dumps({**texts, "plan": _drawn(plot.canvas, plot.height, texts["title"])})
        if _front_pages(source, used) == 1:
            break
    return _pdf(source, used)


def _direction(language: str) -> str:
    known = LANGUAGES.get(language)
    return known.direction if known is not None else "ltr"


def _drawn(canvas: Canvas, height: float, told: str) -> Mapping[str, object]:
    """Return a drawing for the template: strokes as SVG, words apart, what is told of it."""
    return {
        "svg": canvas.svg(WIDTH_MM, height, told),
        "width": WIDTH_MM,
        "height": height,
        "words": [asdict(word) for word in canvas.words],
        "told": told,
    }


def _texts(
    card: PlotCard,
    plan: Plan,
    labels: Labels,
    title: Phrase,
    notes: Sequence[Phrase],
    currency: str,
    shop_side: bool,
) -> dict[str, Any]:
    """Return everything on the sheet that is words, ready for the template."""
    layout = plan.layouts[plan.recommended]
    return {
        "title": labels(title),
        "subtitle": labels(words.subtitle(card, layout)),
        "alerts": [labels(alert) for alert in words.alerts(layout)],
        "footer": labels(say("Computed from what was told: measure the plot before you cut.")),
        "cautions": {
            "title": labels(say("First, so that nobody is hurt")),
            **_halves([labels(caution) for caution in words.cautions(card)]),
        },
        "facts": {
            "title": labels(say("What to lay")),
            **_halves([labels(fact) for fact in words.facts(card, layout, plan.parts)]),
        },
        "months": _months(plan, labels),
        "parts": _parts(plan.parts, labels, currency),
        "notes": [labels(note) for note in notes],
        "shop": _shop(card, layout, plan.parts, labels) if shop_side and plan.parts else None,
    }


def _months(plan: Plan, labels: Labels) -> Mapping[str, object] | None:
    tables = [{"columns": len(rows[0]) - 1, "rows": rows} for rows in words.months(plan, labels)]
    if not tables:
        return None
    return {
        "title": labels(say("Watering, month by month")),
        "tables": tables,
        "note": " ".join(labels(phrase) for phrase in words.watering_notes(plan)),
    }


def _parts(parts: Sequence[PartLine], labels: Labels, currency: str) -> Mapping[str, object]:
    rows = [words.part_row(line, labels) for line in parts]
    together = words.total(parts, currency)
    return {
        "title": labels(say("Parts")),
        "total": labels(together) if together is not None else "",
        **_halves(rows, [len(row["name"]) + len(row["note"]) for row in rows]),
    }


def _shop(
    card: PlotCard, layout: Layout, parts: Sequence[PartLine], labels: Labels
) -> Mapping[str, object]:
    return {
        "title": labels(say("In the shop: look before you pay")),
        "rows": words.shop_rows(card, layout, parts, labels),
        "avoid-title": labels(say("Do not buy")),
        "avoid": words.avoid(labels),
    }


LETTERS_A_ROW = 52
"""What a column of the sheet holds in a row, roughly: to share a list out in two even columns."""


def _halves(rows: Sequence[Any], letters: Sequence[int] | None = None) -> dict[str, list[Any]]:
    """Return the rows as two columns of about the same height."""
    lengths = letters if letters is not None else [len(row) for row in rows]
    heights = [-(-length // LETTERS_A_ROW) for length in lengths]
    left, tall = 0, 0
    while left < len(rows) and 2 * tall < sum(heights):
        tall += heights[left]
        left += 1
    return {"left": list(rows[:left]), "right": list(rows[left:])}


def _front_pages(source: str, used: SheetFonts) -> int:
    """Return the page on which the front ends."""
    try:
        found = typst.query(
            _template(),
            "<front>",
            field="value",
            one=True,
            font_paths=used.fonts,
            sys_inputs={"sheet": source},
        )
    except typst.TypstError as fault:
        raise SheetError(_why_not(fault.message)) from fault
    return int(json.loads(found))


def _pdf(source: str, used: SheetFonts) -> bytes:
    try:
        return typst.compile(
            _template(),
            font_paths=used.fonts,
            format="pdf",
            sys_inputs={"sheet": source},
            pdf_standards="a-2b",
            # The same plan gives the same bytes: no clock.
            timestamp=0,
        )
    except typst.TypstError as fault:
        raise SheetError(_why_not(fault.message)) from fault


def _why_not(reason: str) -> str:
    """Return typst's reason, and for letters of a known script what to install."""
    packages = (
        f"; {script.name} letters are in the package {script.package}"
        for script in scripts_of(reason)
    )
    return f"the sheet cannot be set: {reason}{''.join(packages)}"
