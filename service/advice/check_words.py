"""The field check in words: where the cups go, how even it is, how sure that is, what it means."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.advice import rounding
from service.advice.check_cups import CupTest
from service.phrases import N_, Number, Phrase, say, say_n
from service.sizing.calibration import Calibration
from service.sizing.cup_pattern import Pattern
from service.sizing.field_check import Band, CupRow, Sampling, mark
from service.sizing.sized import Candidate
from service.sizing.troubles import block_of

BANDS: Mapping[Band, str] = {
    # Translators: how evenly water comes out; said in the middle of a sentence.
    "very_good": N_("very good"),
    # Translators: how evenly water comes out; said in the middle of a sentence.
    "good": N_("good"),
    # Translators: how evenly water comes out: between good and poor.
    "fair": N_("fair"),
    # Translators: how evenly water comes out: the worst.
    "poor": N_("poor"),
}
"""Merriam and Keller's bands (from memory): 90, 80 and 70."""


def choice_of(sampling: Sampling) -> Phrase:
    """One way to sample, as a line of a menu."""
    # Translators: a line of a menu, such as "16 cups: 4 lines x 4 places".
    return say(
        "{cups} cups: {lines} x {places}",
        cups=sampling.cups,
        lines=say_n("{n} line", "{n} lines", count="n", n=sampling.lines),
        places=say_n("{n} place", "{n} places", count="n", n=sampling.places),
    )


def _line_name(one: Candidate, line: int) -> Phrase:
    """Name a line as it is counted along the main pipe from the tank."""
    sides = len(one.network.sides)
    tap = (line - 1) // sides + 1
    if sides == 1:
        # Translators: the number of a drip line, counted from the tank.
        return say("line {n}", n=tap)
    slope = one.card.plot.slope_length_pct
    if slope == 0.0:
        # Translators: seen from the tank along the main pipe.
        first, second = say("left line {n}", n=tap), say("right line {n}", n=tap)
    else:
        # Side one runs uphill where the slope along the lines is positive.
        # Translators: lines on either side of the main pipe.
        up, down = say("line {n} uphill", n=tap), say("line {n} downhill", n=tap)
        first, second = (up, down) if slope > 0.0 else (down, up)
    return first if (line - 1) % sides == 0 else second


def where(test: CupTest) -> Sequence[Phrase]:
    """Which lines, and where on them; a line stands once though its cups are typed in two rows."""
    marks: dict[int, list[int]] = {}
    for row in test.sampling.rows:
        marks.setdefault(row.line, []).extend(row.emitters)
    lines = tuple(_line_name(test.one, line) for line in marks)
    places = next(iter(marks.values()))
    return (
        # Translators: the lines on which cups are set.
        say("Lines, counted from the tank: {lines}.", lines=lines),
        # Translators: {marks} is a list of metres.
        say(
            "On each, at the drippers {marks} m from the main pipe.",
            marks=_marks(test.one, places),
        ),
    )


def _marks(one: Candidate, emitters: Sequence[int]) -> tuple[Phrase, ...]:
    return tuple(
        say("{metres}", metres=Number(round(mark(one, emitter), 1), 1)) for emitter in emitters
    )


def row_asked(test: CupTest, row: CupRow) -> Sequence[Phrase]:
    """Whose cups are to be typed next."""
    said = [
        # Translators: {line} is such as "line 7", {marks} a list of metres.
        say(
            "Now {line}, drippers at {marks} m.",
            line=_line_name(test.one, row.line),
            marks=_marks(test.one, row.emitters),
        )
    ]
    if len(test.one.blocks) > 1:
        # Translators: the other valves are shut.
        said.append(say("Valve {n} alone open.", n=block_of(test.one, row.line) + 1))
    return said


def verdict_said(test: CupTest) -> Sequence[Phrase]:
    """Evenness, its band, and how sure it is at this number of cups."""
    found, band = test.evenness, test.verdict
    said = [
        # Translators: 100 is the best. Us is the name of a measure and stays.
        say(
            "Evenness {du} of 100, give or take {within} with {cups} cups: {band}. (Us {us}.)",
            du=rounding.per_cent(found.du_pct),
            us=rounding.per_cent(found.us_pct),
            within=Number(max(1, round(found.du_within))),
            cups=found.cups,
            band=say(BANDS[band.band]),
        )
    ]
    if band.maybe is not None:
        said.append(
            # Translators: {band} is very good, good, fair or poor.
            say("It may also be {band}: more cups make it surer.", band=say(BANDS[band.maybe]))
        )
    return said


def against_plan(test: CupTest) -> Sequence[Phrase]:
    """Beside what the layout can give, beside the last check, and the water in all."""
    said = [
        # Translators: names of people stay.
        say("From 90 very good, 80 good, 70 fair (Merriam and Keller)."),
        # Translators: a number out of 100 follows.
        say(
            "New drippers on this layout would give about {du}.",
            du=rounding.per_cent(test.reckoned_du),
        ),
    ]
    last = test.last_du
    if last is not None:
        # Translators: a number out of 100.
        said.append(say("Last check: {du}.", du=rounding.per_cent(last)))
    said.append(
        say(
            "Water on average: {share}% of what I reckoned.",
            share=rounding.per_cent(100.0 * test.mean_share),
        )
    )
    return said


PATTERNS: Mapping[Pattern, str] = {
    "even": N_("No cup stands out: drippers differ a little, as new ones do."),
    # Translators: {line} is such as "line 7".
    "high": N_("One cup ran over: a damaged dripper on {line}. Cut it out and join."),
    "ends_low": N_("Line ends get less: silt, a kink, or ground that rises. Flush the ends first."),
    "starts_low": N_("Line starts get less: the ground falls along the lines. Lay lines level."),
    "far_lines_low": N_("Far lines get less: main pipe too thin or rising, or its end silted up."),
    "near_lines_low": N_("Near lines get less: the ground falls away from the tank."),
    # Translators: {line} is such as "line 7"; it gets less water.
    "one_line_low": N_("Low: {line}. Its take-off is blocked, or the line is pinched."),
    "side_low": N_("One side gets less: the ground is not level across the main pipe."),
    "scattered": N_("Cups differ without order: clogged drippers, or lines of mixed make. Flush."),
}


def meaning(test: CupTest) -> Sequence[Phrase]:
    """What the pattern of the cups says, and what to do first."""
    found = test.gap
    if found.pattern == "dry":
        return (
            say_n(
                "{n} cup was as good as dry: clogged. Flush that line, then look into it.",
                "{n} cups were as good as dry: clogged. Flush those lines, then look into them.",
                count="n",
                n=found.count,
            ),
        )
    text = PATTERNS[found.pattern]
    if found.pattern in ("one_line_low", "high"):
        return (say(text, line=_line_name(test.one, found.line)),)
    return (say(text),)


def calibrated_by_cups(test: CupTest) -> Sequence[Phrase]:
    """What the cups say of the drippers' flow, before they are kept."""
    found = test.calibration
    if isinstance(found, Calibration):
        return (
            say(
                "By these cups your drippers give about {share}% of their print ({low} to {high}).",
                share=rounding.per_cent(100.0 * found.factor),
                low=rounding.per_cent(100.0 * found.low),
                high=rounding.per_cent(100.0 * found.high),
            ),
        )
    return (
        say("These cups fit no sound plot, so minutes stay as they were. Mend first, then test."),
    )
