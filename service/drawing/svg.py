"""Drawing in millimetres on paper, written as SVG by the standard library's XML writer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal
from xml.etree import ElementTree

Point = tuple[float, float]

NAMESPACE = "http://www.w3.org/2000/svg"

INK = "#20292e"
PIPE = "#1c3743"
LINE = "#3f7487"
QUIET = "#65747b"
BAND = "#eef2ee"
WATER = "#d3e3e8"


def _number(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _printable(text: str) -> str:
    """Return text without control characters: XML cannot hold them, and a name might."""
    return "".join(letter for letter in text if letter.isprintable())


@dataclass(frozen=True, slots=True)
class Words:
    """Words on a drawing.

    Attributes
    ----------
    x, y : float
        On the base line, at the end that `anchor` names [mm].
    size : float
        Of the letters [mm].
    anchor : str
        start, middle or end.
    turned : bool
        Whether they read upwards.
    """

    x: float
    y: float
    text: str
    size: float
    anchor: str = "start"
    turned: bool = False
    colour: str = INK
    bold: bool = False


@dataclass(slots=True)
class Canvas:
    """A page or a part of one; everything in mm.

    Words are kept apart from the strokes, since a page setter shapes them better than a reader of
    SVG does: Indic vowel signs go astray in some.
    """

    root: ElementTree.Element = field(default_factory=lambda: ElementTree.Element("g"))
    words: list[Words] = field(default_factory=list)

    def line(self, start: Point, end: Point, width: float, colour: str, **more: str) -> None:
        """Draw a straight line."""
        self._add(
            "line",
            x1=_number(start[0]),
            y1=_number(start[1]),
            x2=_number(end[0]),
            y2=_number(end[1]),
            stroke=colour,
            stroke_width=_number(width),
            **more,
        )

    def box(
        self, corner: Point, width: float, height: float, fill: str, edge: str = "none", **more: str
    ) -> None:
        """Draw a rectangle from its top left corner."""
        self._add(
            "rect",
            x=_number(corner[0]),
            y=_number(corner[1]),
            width=_number(width),
            height=_number(height),
            fill=fill,
            stroke=edge,
            **more,
        )

    def disc(
        self, centre: Point, radius: float, fill: str, edge: str = "none", **more: str
    ) -> None:
        """Draw a circle."""
        self._add(
            "circle",
            cx=_number(centre[0]),
            cy=_number(centre[1]),
            r=_number(radius),
            fill=fill,
            stroke=edge,
            **more,
        )

    def shape(self, points: Iterable[Point], fill: str, edge: str = "none", **more: str) -> None:
        """Draw a closed figure."""
        corners = " ".join(f"{_number(x)},{_number(y)}" for x, y in points)
        self._add("polygon", points=corners, fill=fill, stroke=edge, **more)

    def write(
        self,
        place: Point,
        text: str,
        size: float,
        anchor: str = "start",
        turned: bool = False,
        colour: str = INK,
        bold: bool = False,
    ) -> None:
        """Write words; `place` is on the base line, turned words read upwards."""
        self.words.append(Words(*place, _printable(text), size, anchor, turned, colour, bold))

    def place(self, part: Canvas, corner: Point) -> None:
        """Put another drawing on this one, its origin at `corner`."""
        x, y = corner
        moved = self._add("g", transform=f"translate({_number(x)} {_number(y)})")
        moved.extend(list(part.root))
        self.words += [replace(word, x=word.x + x, y=word.y + y) for word in part.words]

    def _add(self, tag: str, **attributes: str) -> ElementTree.Element:
        named = {name.rstrip("_").replace("_", "-"): value for name, value in attributes.items()}
        return ElementTree.SubElement(self.root, tag, named)

    def svg(
        self,
        width: float,
        height: float,
        title: str,
        fonts: str | None = None,
        direction: Literal["ltr", "rtl"] = "ltr",
    ) -> str:
        """Return the drawing as an SVG document of a size [mm], with a title for readers.

        `fonts` are families as CSS has them; without any, the words are left out. `direction` is
        that of the words.
        """
        document = ElementTree.Element(
            "svg",
            {
                "xmlns": NAMESPACE,
                "width": f"{_number(width)}mm",
                "height": f"{_number(height)}mm",
                "viewBox": f"0 0 {_number(width)} {_number(height)}",
                "role": "img",
            },
        )
        ElementTree.SubElement(document, "title").text = _printable(title)
        document.extend(list(self.root))
        if fonts is not None:
            around = {"font-family": fonts, "direction": direction}
            group = ElementTree.SubElement(document, "g", around)
            group.extend(_written(word, direction) for word in self.words)
        return ElementTree.tostring(document, encoding="unicode")


# In SVG a text from right to left starts at its right end; `Words` means the left one.
_ANCHORS = {
    "ltr": {"start": "start", "middle": "middle", "end": "end"},
    "rtl": {"start": "end", "middle": "middle", "end": "start"},
}


def _written(word: Words, direction: str) -> ElementTree.Element:
    x, y = _number(word.x), _number(word.y)
    attributes = {
        "x": x,
        "y": y,
        "font-size": _number(word.size),
        "text-anchor": _ANCHORS[direction][word.anchor],
        "fill": word.colour,
    }
    if word.turned:
        attributes["transform"] = f"rotate(-90 {x} {y})"
    if word.bold:
        attributes["font-weight"] = "bold"
    element = ElementTree.Element("text", attributes)
    element.text = word.text
    return element
