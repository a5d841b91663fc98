"""Scripts that the typeface of the sheet does not have, and where letters of them come from."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class Script(NamedTuple):
    """A script, its letters, and fonts for it.

    Attributes
    ----------
    name : str
        In English, for a person who sets up a machine.
    first, last : str
        Its main block of letters in Unicode.
    letters : str
        A font that has all of these is taken to be made for the script.
    families : tuple of str
        Tried first when several serve; any other is accepted.
    package : str
        Debian package with fonts of the script.
    """

    name: str
    first: str
    last: str
    letters: str
    families: tuple[str, ...]
    package: str = "fonts-noto-core"

    def has(self, letter: str) -> bool:
        """Tell whether a letter is of this script."""
        return self.first <= letter <= self.last


SCRIPTS: tuple[Script, ...] = (
    Script(
        "Arabic",
        "\u0600",
        "\u06ff",
        "ابتجدرسعفقكلمنهوي",
        ("Noto Naskh Arabic", "Noto Sans Arabic"),
    ),
    Script(
        "Devanagari",
        "\u0900",
        "\u097f",
        "अकगचजटतदनपबमरलवसह",
        ("Noto Sans Devanagari", "Lohit Devanagari"),
    ),
    Script(
        "Bengali", "\u0980", "\u09ff", "অকগচজটতদনপবমরলসহ", ("Noto Sans Bengali", "Lohit Bengali")
    ),
    Script(
        "Ethiopic", "\u1200", "\u137f", "ሀለመረሰቀበተነአከወዘየደገ", ("Noto Sans Ethiopic", "Abyssinica SIL")
    ),
)


def scripts_of(text: str) -> tuple[Script, ...]:
    """Return the scripts beyond Latin of which a text has letters, as far as we know them."""
    return tuple(script for script in SCRIPTS if any(map(script.has, text)))


def best_family(script: Script, families: Iterable[str]) -> str | None:
    """Return the family to set a script with, of those made for it; None when there is none."""
    serving = sorted(set(families), key=lambda name: (len(name), name))
    known = [family for family in script.families if family in serving]
    # Of fonts nobody here has looked at the shortest name is the plainest cut.
    return next(iter(known or serving), None)
