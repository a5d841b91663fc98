"""What somebody typed into a page, fit to be kept: no control signs, no halves of characters."""

from __future__ import annotations

from service.channels.messages import readable


def one_line(text: str, most: int = 500) -> str:
    """Return a text as one line without needless gaps, cut at so many letters."""
    return " ".join(readable(text).split())[:most]


def several_lines(text: str, most: int = 1000) -> str:
    """Return a text with its line breaks, without blanks at either end, cut at so many letters."""
    lines = (readable(line).rstrip() for line in text.splitlines())
    return "\n".join(lines).strip()[:most]
