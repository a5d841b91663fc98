"""The strip that shows how much of the water each line gets, against an even share."""

from __future__ import annotations

from service.drawing.ground import line_shares
from service.drawing.paper import PLAIN, SMALL, Labels
from service.drawing.svg import INK, LINE, PIPE, QUIET, Canvas
from service.phrases import Number, say
from service.sizing.result import Layout

STRIP_MM = 21.0
"""Height of the strip with its words."""
FAIR = 0.9
"""Below this share a bar is drawn dark: the flow variation of 10 % at which a plan warns."""


def share_strip(layout: Layout, labels: Labels, width: float) -> Canvas | None:
    """A bar for each line in tap order; None when the flows of the emitters are not known."""
    shares = line_shares(layout)
    if not shares:
        return None
    canvas = Canvas()
    left, base, full = 13.0, STRIP_MM - 4.5, 10.0
    top_share = max(1.15, *shares)
    unit = full / top_share
    pitch = (width - left) / len(shares)
    gap = min(0.6, pitch * 0.2)
    for number, share in enumerate(shares):
        colour = LINE if share >= FAIR else PIPE
        corner = (left + number * pitch + gap / 2.0, base - share * unit)
        canvas.box(corner, pitch - gap, share * unit, colour, class_="share")
    canvas.line((left, base), (width, base), 0.2, INK)
    canvas.line((left, base - unit), (width, base - unit), 0.25, INK, stroke_dasharray="1.2 0.8")
    canvas.write((left - 1.0, base - unit + 0.9), labels(say("{n}%", n=100)), SMALL, "end")
    canvas.write((0.0, 3.2), _said(layout, shares, labels), PLAIN)
    last = labels(say("last tap"))
    canvas.write((left, base + 3.4), labels(say("first tap")), SMALL, colour=QUIET)
    canvas.write((width, base + 3.4), last, SMALL, "end", colour=QUIET)
    return canvas


def _said(layout: Layout, shares: tuple[float, ...], labels: Labels) -> str:
    per_tap = len(shares) // len(layout.tap_positions_m)
    lowest, highest = (shares.index(share) for share in (min(shares), max(shares)))
    said = say(
        "Each line's share of the water: least {low}% at tap {low_m} m, most {high}% at tap "
        "{high_m} m.",
        low=Number(100.0 * shares[lowest]),
        high=Number(100.0 * shares[highest]),
        low_m=Number(layout.tap_positions_m[lowest // per_tap], 2),
        high_m=Number(layout.tap_positions_m[highest // per_tap], 2),
    )
    if shares[lowest] >= FAIR:
        return labels(said)
    dark = labels(say("Dark: below {n}%.", n=Number(100.0 * FAIR)))
    return f"{labels(said)} {dark}"
