"""Why the recommended layout wins, in one sentence."""

from __future__ import annotations

from service.phrases import Number, Phrase, Value, say
from service.sizing.layouts import SizedLayouts
from service.sizing.result import Layout


def layout_in_words(layout: Layout) -> Phrase:
    """Name a layout in a few words: where the tank stands and along which side the lines run."""
    if layout.tank_position == "corner":
        if layout.lines_run == "length":
            return say("tank at a corner, lines along the length")
        return say("tank at a corner, lines along the width")
    if layout.lines_run == "length":
        return say("tank at the middle of a side, lines along the length")
    return say("tank at the middle of a side, lines along the width")


def why_sentence(sized: SizedLayouts) -> Phrase:
    """Say why the winner wins and what the runner-up would take."""
    why = sized.why
    winner = layout_in_words(sized.layouts[sized.recommended])
    if why.code == "only_one" or why.runner_up is None:
        return say("{layout}: the card and the plot leave no other way.", layout=winner)
    runner_up = layout_in_words(sized.layouts[why.runner_up])
    if why.code == "only_one_that_meets":
        return say(
            "{layout}: the only way that waters evenly enough and fast enough.", layout=winner
        )
    if why.code == "least_bad":
        return say(
            "{layout}: the least uneven; no way that we tried waters evenly enough.", layout=winner
        )
    values: dict[str, Value] = {
        "layout": winner,
        "other": runner_up,
        "measure": Number(why.measure or 0.0),
        "more": Number(why.runner_up_measure or 0.0),
    }
    if why.priced:
        return say("{layout}: cheapest, {measure}; next {other}, {more}.", **values)
    return say(
        "{layout}: least pipe and fittings, as {measure} m of line; next {other}, {more}.", **values
    )
