"""Fonts of this machine for the installer's sheet: looked for in one folder, by what is in them.

No font system is asked: a sheet hangs on the files of one folder and on nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import typst

from service.drawing.scripts import Script, best_family, scripts_of
from service.drawing.sheet import LATIN, SheetError, SheetFonts
from service.text.languages import Language
from service.wiring.font_letters import has_letters

_USUAL_WEIGHT = 400
_LIKE_THEM = ("Noto Sans",)
"""Latin letters beside those of another script, when the machine has them."""


class FontMissing(SheetError):
    """No font for a script, with what to install."""

    def __init__(self, script: Script, folder: Path) -> None:
        super().__init__(
            f"no font with {script.name} letters in {folder}: install the package"
            f" {script.package}, or name another folder in LITRELINE_FONTS_DIR"
        )


def sheet_fonts(folder: Path, language: Language) -> SheetFonts | None:
    """Return the typefaces for a sheet in a language; None when Latin letters are enough.

    Raises
    ------
    FontMissing
        No font of the folder has the letters of the language.
    """
    return fonts_for(folder, scripts_of(language.own_name))


@cache
def fonts_for(folder: Path, scripts: tuple[Script, ...]) -> SheetFonts | None:
    """Return the typefaces for a sheet in these scripts; raises FontMissing."""
    if not scripts:
        return None
    families: list[str] = []
    found = typst.Fonts(include_system_fonts=False, font_paths=[folder])
    for script in scripts:
        family = best_family(script, _families(found, script))
        if family is None:
            raise FontMissing(script, folder)
        families.append(family)
    # The letters of the script first, so that digits and stops beside them are of one cut.
    latin = [family for family in _LIKE_THEM if family in found.families()]
    return SheetFonts(found, (*families, *latin, LATIN))


def _families(found: typst.Fonts, script: Script) -> Iterator[str]:
    """Yield the families with an upright font of usual weight for a script."""
    for font in found.fonts():
        usual = (font.style, font.weight, font.stretch) == ("normal", _USUAL_WEIGHT, 1.0)
        if font.path and usual:
            with Path(font.path).open("rb") as file:
                if has_letters(file, script.letters, font.index):
                    yield font.family
