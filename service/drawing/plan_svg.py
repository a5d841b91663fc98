"""The plan as one SVG: picture, measures, tap marks and each line's share."""

from __future__ import annotations

from typing import Literal

from service.drawing.paper import Labels
from service.drawing.picture import picture
from service.drawing.shares import STRIP_MM, share_strip
from service.drawing.svg import Canvas
from service.phrases import Number, say
from service.sizing.card import PlotCard
from service.sizing.plain import plain_english
from service.sizing.result import Plan

WIDTH_MM, HEIGHT_MM = 190.0, 150.0
SCREEN_FONTS = (
    "DejaVu Sans, Noto Sans, Noto Sans Devanagari, Noto Sans Bengali, Noto Sans Ethiopic, "
    "Noto Naskh Arabic, sans-serif"
)


def plan_svg(
    card: PlotCard,
    plan: Plan,
    labels: Labels = plain_english,
    *,
    direction: Literal["ltr", "rtl"] = "ltr",
) -> str:
    """The recommended layout of a plan as an SVG document, to scale at its own size.

    Parameters
    ----------
    card : PlotCard
        The plot.
    plan : Plan
        Its plan; the strip of shares is drawn when it was made with emitters.
    labels : callable
        Words of a phrase in the reader's language.
    direction : str
        Of that language's script; the drawing itself is not mirrored.
    """
    layout = plan.layouts[plan.recommended]
    plot = picture(card, layout, labels, WIDTH_MM, HEIGHT_MM)
    strip = share_strip(layout, labels, WIDTH_MM)
    page = Canvas()
    height = plot.height + 10.0 + (STRIP_MM + 3.0 if strip else 0.0)
    page.box((0.0, 0.0), WIDTH_MM + 10.0, height, "#ffffff")
    page.place(plot.canvas, (5.0, 5.0))
    if strip is not None:
        page.place(strip, (5.0, 8.0 + plot.height))
    title = labels(
        say(
            "Plan of a plot of {length} m by {width} m",
            length=Number(card.plot.length_m, 2),
            width=Number(card.plot.width_m, 2),
        )
    )
    return page.svg(WIDTH_MM + 10.0, height, title, SCREEN_FONTS, direction)
