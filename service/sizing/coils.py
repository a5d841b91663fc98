"""Whole coils to buy: for lines that want no joint inside, and for a pipe that may be joined.

Arithmetic on metres; no names of parts and no prices.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

CUT_ALLOWANCE_M = 0.5
"""Cut longer than it lies, each piece [m], to fasten and square it: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Coils:
    """What to buy.

    Attributes
    ----------
    counts : tuple of (float, int)
        Length of a coil [m] and how many of them, the longest first; none with nought.
    needed_m : float
        Length that is laid or cut off [m].
    joints : int
        Joiners that the coils make needful, at most.
    piece_m : float
        Piece that must come from one coil [m]; nought where joints are allowed.
    """

    counts: tuple[tuple[float, int], ...]
    needed_m: float
    joints: int = 0
    piece_m: float = 0.0

    @property
    def bought_m(self) -> float:
        """Length in the coils [m]."""
        return sum(length * count for length, count in self.counts)

    @property
    def coil_count(self) -> int:
        """Coils to carry."""
        return sum(count for _, count in self.counts)

    @property
    def left_m(self) -> float:
        """Length left over, in one or several pieces [m]."""
        return self.bought_m - self.needed_m

    def pieces_each(self, length_m: float) -> int:
        """Whole pieces cut from a coil of this length [m]; 0 where joints are allowed."""
        return _held(length_m, self.piece_m) if self.piece_m else 0


def _held(length_m: float, piece_m: float) -> int:
    return math.floor(length_m / piece_m + 1e-9)


def coils_for_lines(line_count: int, line_length_m: float, lengths_m: Sequence[float]) -> Coils:
    """Fewest metres of coils from which every line is cut in one piece, then the fewest coils.

    Parameters
    ----------
    line_count : int
        Lines, 0 or more.
    line_length_m : float
        One line as it lies [m]; `CUT_ALLOWANCE_M` is added to each.
    lengths_m : sequence of float
        Lengths that coils come in [m], each a whole multiple of the shorter one before it (then a
        longer coil always holds at least the lines of the shorter coils it replaces).

    Returns
    -------
    Coils
        A line longer than the longest coil is joined: then `joints` is above nought.
    """
    piece = line_length_m + CUT_ALLOWANCE_M
    needed = line_count * piece
    held = tuple(_held(length, piece) for length in lengths_m)
    if line_count and not held[-1]:
        return coils_for_run(needed, lengths_m)
    counts = _fewest_metres(line_count, held, tuple(lengths_m))
    return Coils(counts, needed, piece_m=piece)


def coils_for_run(length_m: float, lengths_m: Sequence[float]) -> Coils:
    """Fewest metres of coils that make up one length, joined where a coil ends.

    Parameters
    ----------
    length_m : float
        Pipe that is needed with all its cuts [m], 0 or more.
    lengths_m : sequence of float
        Lengths that coils come in [m], as for `coils_for_lines`.
    """
    shortest = lengths_m[0]
    held = [round(length / shortest) for length in lengths_m]
    wanted = math.ceil(length_m / shortest - 1e-9)
    counts = _fewest_metres(wanted, tuple(held), tuple(lengths_m))
    return Coils(counts, length_m, max(0, sum(count for _, count in counts) - 1))


# Layouts that are ranked against each other ask for the same coils again and again.
@lru_cache(maxsize=4096)
def _fewest_metres(
    wanted: int, held: tuple[int, ...], lengths_m: tuple[float, ...]
) -> tuple[tuple[float, int], ...]:
    """Return the coils that hold `wanted` pieces: least metres, then least coils."""
    best: tuple[float, int, tuple[int, ...]] | None = None
    for counts in _candidates(wanted, held, lengths_m):
        metres = sum(count * length for count, length in zip(counts, lengths_m, strict=True))
        rank = (metres, sum(counts), counts)
        if best is None or rank < best:
            best = rank
    chosen = best[2] if best is not None else ()
    pairs = zip(lengths_m, chosen, strict=True)
    return tuple((length, count) for length, count in reversed(list(pairs)) if count)


def _candidates(
    wanted: int, held: Sequence[int], lengths_m: Sequence[float]
) -> Iterator[tuple[int, ...]]:
    """Yield counts of coils, shortest first, of which one is the best.

    As many short coils as make one longer coil are never better than that one, so each length but
    the longest is taken fewer times than that.
    """
    if len(held) == 1:
        yield (max(0, math.ceil(wanted / held[0])),)
        return
    for count in range(round(lengths_m[1] / lengths_m[0])):
        rest = wanted - count * held[0]
        for more in _candidates(rest, held[1:], lengths_m[1:]):
            yield (count, *more)
        if rest <= 0:
            return
