"""The plot of the answers with its pipes, as installing, upkeep and treating need it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from service.advice.answers import Answers
from service.advice.context import Context
from service.advice.water_case import has_plot, plot_water
from service.errors import CardError, NotConverged
from service.phrases import Phrase
from service.sizing.card import PlotCard
from service.sizing.geometry import network_of
from service.sizing.laying import Laying, laying_of
from service.sizing.result import Layout, Plan
from service.sizing.sized import Candidate, candidate
from service.sizing.watering import growing_day
from service.units import metres


@dataclass(frozen=True)
class PlotPipes:
    """A plot and its recommended layout, ready to be reckoned with."""

    card: PlotCard
    plan: Plan
    one: Candidate
    laying: Laying

    @property
    def layout(self) -> Layout:
        """The recommended layout."""
        return self.plan.layouts[self.plan.recommended]


def plot_pipes(answers: Answers, context: Context) -> PlotPipes:
    """Return the plot of the answers; CardError when they make none."""
    card = context.card(answers)
    plan = context.planner.plan(card, context.today)
    layout = plan.layouts[plan.recommended]
    # The plan lays lines as far apart as the crop wants; the network must stand on the same.
    laid = card.model_copy(update={"line_spacing_m": layout.line_spacing_m})
    bore = metres(layout.submain_inner_diameter_mm)
    network = network_of(laid, layout.tank_position, layout.lines_run, bore)
    network = replace(network, down=replace(network.down, minor_k=layout.inlet_k))
    return PlotPipes(
        card=laid,
        plan=plan,
        one=candidate(laid, network, layout.blocks),
        laying=laying_of(laid, layout, context.tables.pipes),
    )


def known_plot(answers: Answers, context: Context) -> PlotPipes | None:
    """Return the plot, or None when the answers make none."""
    if not has_plot(answers, context):
        return None
    try:
        return plot_pipes(answers, context)
    except (CardError, NotConverged):
        return None


def nothing_grows(answers: Answers, context: Context) -> bool:
    """Whether the crop of a known plot is over."""
    if not has_plot(answers, context):
        return False
    case = plot_water(answers, context).case
    return growing_day(case, context.today) is None


Words = Callable[[PlotPipes], Sequence[Phrase]]
Show = Callable[[Answers, Context], Sequence[Phrase]]


def from_pipes(words: Words, without: Callable[[], Sequence[Phrase]] = tuple) -> Show:
    """Make a show of a function that words a plot; `without` speaks where none is known."""

    def show(answers: Answers, context: Context) -> Sequence[Phrase]:
        plot = known_plot(answers, context)
        return without() if plot is None else words(plot)

    return show
