"""What would help a layout that misses the goal, each change reckoned anew.

Wider pipe, shorter lines and more blocks come first, ranked by what they do; a higher stand comes
last, whatever it does, since a stand carries half a ton or a ton.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from service.errors import CardError
from service.sizing.card import PlotCard
from service.sizing.geometry import Lines, network_of
from service.sizing.pipes import PipeSize, submain_pipes
from service.sizing.ranking import MOST_BLOCKS, Cost
from service.sizing.result import Remedy
from service.sizing.sized import Candidate, candidate
from service.units import metres, millimetres

Kind = Literal["wider_submain", "shorter_lines", "more_blocks", "higher_stand"]
How = Literal["", "fed_from_middle", "cut"]

WIDER_SIZES = 2
"""How many pipe sizes above the present one are tried."""
HIGHER_BY_M = (0.5, 1.0)
WORTH_PCT = 0.5
"""A change that raises emission uniformity by less [points] does not help."""


@dataclass(frozen=True)
class Change:
    """A layout changed in one way."""

    kind: Kind
    value: float
    candidate: Candidate
    how: How = ""


def remedies(
    missed: Candidate, pipes: Sequence[PipeSize], lines: Lines, cost: Cost | None = None
) -> tuple[Remedy, ...]:
    """Changes that help, the most effective first and a higher stand last.

    Of each kind the values are tried from small to large, and none beyond the first that meets
    the goal.

    Parameters
    ----------
    missed : Candidate
        The layout that misses the goal.
    pipes : sequence of PipeSize
        Sizes for a wider submain.
    lines : Lines
        Lines already reckoned.
    cost : callable, optional
        Cost of a layout's parts, for what each change costs more.
    """
    kinds = (
        _wider(missed, pipes, lines),
        _shorter(missed, lines),
        _more_blocks(missed),
        _higher(missed, lines),
    )
    found = [
        _remedy(change, missed, cost)
        for kind in kinds
        for change in _until_enough(kind)
        # A higher stand is always reckoned: it is what people think of first, and on level ground
        # it does next to nothing for the far end.
        if change.kind == "higher_stand" or _helps(missed, change.candidate)
    ]
    return tuple(sorted(found, key=_rank))


def _rank(remedy: Remedy) -> tuple[bool, float, float]:
    last = remedy.change == "higher_stand"
    return last, -round(remedy.emission_uniformity_pct, 1), remedy.value


def _until_enough(changes: Iterable[Change]) -> Iterator[Change]:
    for change in changes:
        yield change
        if change.candidate.meets_goal:
            return


def _helps(missed: Candidate, changed: Candidate) -> bool:
    before, after = missed.worst_full, changed.worst_full
    gain = after.emission_uniformity_pct - before.emission_uniformity_pct
    return gain >= WORTH_PCT or changed.meets_goal


def _remedy(change: Change, missed: Candidate, cost: Cost | None) -> Remedy:
    full, extra = change.candidate.worst_full, None
    if cost is not None:
        extra = cost(change.candidate.layout()) - cost(missed.layout())
    return Remedy(
        change=change.kind,
        value=change.value,
        emission_uniformity_pct=full.emission_uniformity_pct,
        flow_variation_pct=full.flow_variation_pct,
        min_flow_lph=full.min_flow_lph,
        meets_goal=change.candidate.meets_goal,
        extra_cost=extra,
        how=change.how,
    )


def _laid_as(missed: Candidate, card: PlotCard, lines: Lines, bore: float) -> Candidate:
    """Return the same layout of another card or with another bore."""
    network = missed.network
    changed = network_of(card, network.position, network.lines_run, bore, lines)
    return candidate(card, changed, len(missed.blocks))


def _wider(missed: Candidate, pipes: Sequence[PipeSize], lines: Lines) -> Iterator[Change]:
    """Yield the next pipe sizes; a second, narrower bore is then left out."""
    card = missed.card
    if card.submain.second is not None:
        submain = card.submain.model_copy(update={"second": None})
        card = card.model_copy(update={"submain": submain})
    present = millimetres(missed.network.bore) + 0.05
    wider = [pipe.bore_mm for pipe in submain_pipes(pipes) if pipe.bore_mm > present]
    for bore in wider[:WIDER_SIZES]:
        yield Change("wider_submain", bore, _laid_as(missed, card, lines, metres(bore)))


def _shorter(missed: Candidate, lines: Lines) -> Iterator[Change]:
    """Yield lines fed from their middle; if that is not enough, the longest that would do."""
    network = missed.network
    if network.position == "corner":
        try:
            middle = network_of(missed.card, "mid_side", network.lines_run, network.bore, lines)
        except CardError:
            return  # Half a line has no room for an emitter.
        fed = candidate(missed.card, middle, len(missed.blocks))
        yield Change("shorter_lines", middle.line_length, fed, "fed_from_middle")
    yield from _cut(missed, lines)


def _cut(missed: Candidate, lines: Lines) -> Iterator[Change]:
    """Yield the longest lines that meet the goal; half the length when even that does not."""
    emitters = missed.network.emitters_per_line
    low, high = emitters // 2, emitters
    if low < 1:
        return
    best = _with_emitters(missed, low, lines)
    while best.meets_goal and high - low > max(1, emitters // 20):
        middle = (low + high) // 2
        tried = _with_emitters(missed, middle, lines)
        if tried.meets_goal:
            low, best = middle, tried
        else:
            high = middle
    yield Change("shorter_lines", best.network.line_length, best, "cut")


def _with_emitters(missed: Candidate, emitters: int, lines: Lines) -> Candidate:
    network, plot = missed.network, missed.card.plot
    length = emitters * missed.card.dripline.emitter_spacing_m * len(network.sides)
    side = "length_m" if network.lines_run == "length" else "width_m"
    card = missed.card.model_copy(update={"plot": plot.model_copy(update={side: length})})
    return _laid_as(missed, card, lines, network.bore)


def _more_blocks(missed: Candidate) -> Iterator[Change]:
    most = min(MOST_BLOCKS, len(missed.network.taps))
    for blocks in range(len(missed.blocks) + 1, most + 1):
        yield Change("more_blocks", blocks, candidate(missed.card, missed.network, blocks))


def _higher(missed: Candidate, lines: Lines) -> Iterator[Change]:
    for more in HIGHER_BY_M:
        stand = missed.card.stand_height_m + more
        card = missed.card.model_copy(update={"stand_height_m": stand})
        yield Change("higher_stand", stand, _laid_as(missed, card, lines, missed.network.bore))
