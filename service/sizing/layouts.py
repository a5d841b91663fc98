"""Which layout suits a plot: the best way to lay it, why, and what it does in bad cases."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Literal

from service.errors import NotConverged
from service.sizing import practice, spans
from service.sizing.card import PlotCard
from service.sizing.geometry import Lines, Network
from service.sizing.pipes import PipeSize
from service.sizing.ranking import HOURS_A_DAY, Cost, Rated, best_of, groups, rater
from service.sizing.remedies import remedies
from service.sizing.result import FullTank, Layout, LayoutSpan, PlanWarning, Remedy
from service.sizing.sized import Candidate, candidate

WhyCode = Literal["only_one", "cheapest_that_meets", "only_one_that_meets", "least_bad"]


@dataclass(frozen=True, slots=True)
class Why:
    """Why the recommended layout wins; words are made from it elsewhere.

    Attributes
    ----------
    code : str
        only_one: nothing else could be laid or the card fixed it. cheapest_that_meets: of those
        that water evenly enough (and in the hours of a day) it takes the least parts.
        only_one_that_meets. least_bad: none waters evenly enough.
    runner_up : int or None
        Index of the next best layout.
    measure, runner_up_measure : float or None
        Parts cost of both, or parts counted as metres of dripline when there are no prices.
    priced : bool
        Whether the measures are costs.
    """

    code: WhyCode
    runner_up: int | None = None
    measure: float | None = None
    runner_up_measure: float | None = None
    priced: bool = False


@dataclass(frozen=True)
class SizedLayouts:
    """The layouts of a plot, the one to take, and what to say about it.

    Attributes
    ----------
    layouts : tuple of Layout
        The best of each tank position and direction of lines.
    candidates : tuple of Candidate
        The same, ready to be asked for heads and flows (`states`) or minutes.
    recommended : int
        Index into both.
    remedies : tuple of Remedy
        When the recommended layout misses the goal: changes that help, the most effective first, a
        higher stand last.
    span : LayoutSpan
        What the recommended layout does in the bad cases of what is assumed.
    one_valve : FullTank or None
        What the recommended layout would do with a single valve, where that misses the goal and
        nobody fixed the number of blocks. `remedies` then start from there.
    """

    layouts: tuple[Layout, ...]
    candidates: tuple[Candidate, ...]
    recommended: int
    why: Why
    remedies: tuple[Remedy, ...]
    warnings: tuple[PlanWarning, ...]
    span: LayoutSpan
    one_valve: FullTank | None = None

    @property
    def best(self) -> Candidate:
        """The recommended candidate."""
        return self.candidates[self.recommended]

    @property
    def network(self) -> Network:
        """The network of the recommended layout."""
        return self.best.network

    def minutes_for_litres(self, litres: float) -> float | None:
        """Minutes in which the recommended layout gives so many litres, all sets together."""
        return self.best.minutes_for_litres(litres)


def size_layouts(
    card: PlotCard,
    pipes: Sequence[PipeSize],
    peak_gross_l_day: float | None = None,
    with_emitters: bool = False,
    cost: Cost | None = None,
    hours_a_day: float = HOURS_A_DAY,
) -> SizedLayouts:
    """Layouts of a plot, ranked.

    Parameters
    ----------
    card : PlotCard
        The plot; a bore or a part of `layout` that it gives is fixed.
    pipes : sequence of PipeSize
        Sizes to choose submains from.
    peak_gross_l_day : float, optional
        Water that the crop needs on its thirstiest day [L]: a layout must give it in the hours of
        a day.
    with_emitters : bool
        Whether each layout carries the flow of every emitter.
    cost : callable, optional
        Cost of a layout's parts; without it parts are counted (`parts_measure`).
    hours_a_day : float
        Hours in which water can run [h].

    Raises
    ------
    CardError
        When no layout has room for a line and an emitter.
    NotConverged
        When a network cannot be solved; the layout is named.
    """
    with _named(card):
        lines = Lines(card.stand_height_m + card.tank.water_depth_m)
        rate = rater(peak_gross_l_day, cost, hours_a_day)
        kept = [best_of(group) for group in groups(card, pipes, lines, rate)]
        best = best_of(kept)
        recommended = kept.index(best)
        layouts = tuple(one.candidate.layout(cost and one.measure, with_emitters) for one in kept)
        missed = _missed(card, best.candidate)
        helps = () if missed is None else remedies(missed, pipes, lines, cost)
        span = spans.layout_span(best.candidate, pipes)
        return SizedLayouts(
            layouts=layouts,
            candidates=tuple(one.candidate for one in kept),
            recommended=recommended,
            why=_why(kept, recommended, cost is not None),
            remedies=helps,
            warnings=(
                *practice.warnings(best.candidate, peak_gross_l_day),
                *_slow(best, peak_gross_l_day, hours_a_day),
                *spans.warnings(span, best.candidate.meets_goal),
            ),
            span=span,
            one_valve=None
            if missed is None or missed is best.candidate
            else missed.counted[missed.worst],
        )


@contextmanager
def _named(card: PlotCard) -> Iterator[None]:
    """Say of which card it is that no solution was found."""
    try:
        yield
    except NotConverged as fault:
        plot = f"the plot of {card.plot.length_m:g} x {card.plot.width_m:g} m"
        tank = f"{card.tank.volume_l:g} L on {card.stand_height_m:g} m"
        raise NotConverged(f"{plot} with {tank}: {fault.what}", fault.residual) from fault


def _missed(card: PlotCard, best: Candidate) -> Candidate | None:
    """Return the layout that misses the goal: the best one, or the same one with one valve.

    Several valves may be the answer, but whoever has laid the plot with one must hear that it
    starves, and that a wider pipe or shorter lines would do too.
    """
    if not best.meets_goal:
        return best
    if card.layout.blocks is not None or len(best.blocks) == 1:
        return None
    return candidate(card, best.network, 1)


def _why(kept: Sequence[Rated], recommended: int, priced: bool) -> Why:
    """Return why the recommended one wins over the others that were kept."""
    best, others = kept[recommended], [one for one in kept if one is not kept[recommended]]
    if not others:
        return Why("only_one" if best.meets else "least_bad", None, best.measure, None, priced)
    rivals = [one for one in others if one.meets == best.meets]
    runner_up = best_of(rivals or others)
    code: WhyCode = "least_bad"
    if best.meets:
        code = "cheapest_that_meets" if rivals else "only_one_that_meets"
    return Why(code, kept.index(runner_up), best.measure, runner_up.measure, priced)


def _slow(best: Rated, peak: float | None, hours: float) -> Iterator[PlanWarning]:
    """Yield the warning that the peak day's water does not come out in the hours of a day."""
    if peak is not None and not best.in_hours:
        yield PlanWarning.model_validate(
            {
                "code": "peak_beyond_hours",
                "peak_l_day": peak,
                "hours_a_day": hours,
                "peak_minutes": best.candidate.minutes_for_litres(peak),
            }
        )
